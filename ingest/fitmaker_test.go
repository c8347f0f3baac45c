package ingest

import (
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// fitField is one field of a definition: number, bytes, base type.
type fitField struct{ num, size, base byte }

// Base types of the FIT protocol.
const (
	baseEnum   = 0x00
	baseUint8  = 0x02
	baseString = 0x07
	baseUint16 = 0x84
	baseSint32 = 0x85
	baseUint32 = 0x86
	baseSerial = 0x8C // uint32z
	baseANT    = 0x8B // uint16z
)

// fitMaker writes the messages of a FIT file, little endian.
type fitMaker struct{ body []byte }

// define writes a definition message for a local number.
func (m *fitMaker) define(local byte, mesg uint16, fields ...fitField) {
	m.body = append(m.body, 0x40|local, 0, 0, byte(mesg), byte(mesg>>8), byte(len(fields)))
	for _, f := range fields {
		m.body = append(m.body, f.num, f.size, f.base)
	}
}

// data writes a data message; the Go types must match the definition.
func (m *fitMaker) data(header byte, values ...any) {
	m.body = append(m.body, header)
	for _, v := range values {
		if s, ok := v.(string); ok {
			m.body = append(m.body, s...)
			continue
		}
		m.body, _ = binary.Append(m.body, binary.LittleEndian, v)
	}
}

// file puts a header of 14 bytes before the messages and a checksum after them.
func (m *fitMaker) file() []byte { return sealFIT(m.body, 14, true) }

// sealFIT makes a FIT file of messages. A header of 14 bytes can go without its
// own checksum.
func sealFIT(body []byte, header int, headerCRC bool) []byte {
	b := []byte{byte(header), 0x20, 0x5C, 0x08, 0, 0, 0, 0, '.', 'F', 'I', 'T'}
	binary.LittleEndian.PutUint32(b[4:], uint32(len(body)))
	if header == 14 {
		var c uint16
		if headerCRC {
			c = fitCRC(b)
		}
		b = binary.LittleEndian.AppendUint16(b, c)
	}
	b = append(b, body...)
	return binary.LittleEndian.AppendUint16(b, fitCRC(b))
}

// day0 is 2025-06-01 08:00:00 UTC in FIT seconds.
const day0 = uint32(1748764800 - fitEpoch)

// day0Millis is the same in ms of UTC.
const day0Millis = int64(1748764800_000)

// fitID begins an activity of a made-up device.
func fitID(m *fitMaker, kind byte) {
	m.define(0, 0, fitField{0, 1, baseEnum}, fitField{1, 2, baseUint16}, fitField{2, 2, baseUint16}, fitField{3, 4, baseSerial})
	m.data(0, kind, uint16(300), uint16(7), uint32(4711))
}

// fitPoints writes n records a second apart, 5 m each, from the second after from.
func fitPoints(m *fitMaker, from uint32, n int) {
	m.define(1, 20, fitField{253, 4, baseUint32}, fitField{0, 4, baseSint32}, fitField{1, 4, baseSint32},
		fitField{2, 2, baseUint16}, fitField{5, 4, baseUint32}, fitField{6, 2, baseUint16}, fitField{4, 1, baseUint8})
	for i := range n {
		m.data(1, from+uint32(i), int32(536870912+500*i), int32(120000000), uint16(2500+i), uint32(500*i), uint16(5000), byte(80))
	}
}

// fitSessionOf writes a session message.
func fitSessionOf(m *fitMaker, sport, sub byte, start, end, elapsedMS uint32) {
	m.define(2, 18, fitField{253, 4, baseUint32}, fitField{2, 4, baseUint32}, fitField{7, 4, baseUint32}, fitField{8, 4, baseUint32},
		fitField{5, 1, baseEnum}, fitField{6, 1, baseEnum}, fitField{9, 4, baseUint32})
	m.data(2, end, start, elapsedMS, elapsedMS, sport, sub, uint32(no32))
}

// fitRide is a whole cycling activity of n seconds.
func fitRide(n int) []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	fitPoints(&m, day0, n)
	fitSessionOf(&m, 2, 8, day0, day0+uint32(n)-1, uint32(n-1)*1000)
	return m.file()
}

// oneTrack reads a file that must give exactly one track.
func oneTrack(t testing.TB, file []byte) *Track {
	t.Helper()
	tracks, err := readFIT(file, Options{})
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	return tracks[0]
}

// fitModules are the modules whose test files are read.
var fitModules = []string{"github.com/tormoder/fit", "github.com/muktihari/fit"}

// realFITs finds the FIT files in the test data of both FIT libraries in the
// module cache, keyed by module and path.
func realFITs(t testing.TB) map[string][]byte {
	t.Helper()
	files := map[string][]byte{}
	for _, module := range fitModules {
		out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", module).Output()
		root := filepath.Join(strings.TrimSpace(string(out)), "testdata")
		if _, statErr := os.Stat(root); err != nil || statErr != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("no test data of %s: %v", module, err)
			}
			t.Skipf("no test data of %s in the module cache", module)
		}
		require.NoError(t, filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, ".fit") {
				return err
			}
			data, err := os.ReadFile(path)
			files[strings.Split(module, "/")[1]+strings.TrimPrefix(filepath.ToSlash(path), filepath.ToSlash(root))] = data
			return err
		}))
	}
	require.Greater(t, len(files), 50)
	return files
}
