package ingest

// crcTable is CRC-16/ARC by bytes: the polynomial 0x8005 reflected, as the FIT
// protocol has it in a table of nibbles.
var crcTable = func() (table [256]uint16) {
	for i := range table {
		c := uint16(i)
		for range 8 {
			c = c>>1 ^ c&1*0xA001
		}
		table[i] = c
	}
	return table
}()

// fitCRC is the checksum of the FIT protocol. Over data that ends with its own
// checksum, little endian, it is 0.
func fitCRC(data []byte) uint16 {
	var c uint16
	for _, b := range data {
		c = c>>8 ^ crcTable[byte(c)^b]
	}
	return c
}
