package ingest

import (
	"bytes"
	"encoding/csv"
	"encoding/hex"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fitVectors reads testdata/fit_vectors.csv; each row there names its source.
func fitVectors(t *testing.T) map[string]string {
	t.Helper()
	data, err := os.ReadFile("../testdata/fit_vectors.csv")
	require.NoError(t, err)
	r := csv.NewReader(bytes.NewReader(data))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	v := map[string]string{}
	for _, row := range rows {
		v[row[0]] = row[1]
	}
	return v
}

// Sources: see the rows of testdata/fit_vectors.csv.
func TestFITVectors(t *testing.T) {
	v := fitVectors(t)
	number := func(name string) float64 {
		x, err := strconv.ParseFloat(v[name], 64)
		require.NoError(t, err, name)
		return x
	}
	crc := func(name string) uint16 {
		x, err := strconv.ParseUint(v[name], 0, 16)
		require.NoError(t, err, name)
		return uint16(x)
	}
	assert.Equal(t, crc("crc_ascii_123456789"), fitCRC([]byte("123456789")))
	assert.Equal(t, crc("crc_empty"), fitCRC(nil))
	header, err := hex.DecodeString("0e205c08000000002e464954")
	require.NoError(t, err)
	sum := fitCRC(header)
	assert.Equal(t, crc("crc_header12_0e205c08000000002e464954"), sum)
	assert.Equal(t, crc("crc_of_header_plus_its_crc"), fitCRC(append(header, byte(sum), byte(sum>>8))))

	assert.Equal(t, number("epoch_offset_s"), float64(fitEpoch))
	assert.Equal(t, v["ts_938622559"], zulu(fitSeconds(938622559)))
	assert.Equal(t, v["ts_938622574"], zulu(fitSeconds(938622574)))
	assert.Equal(t, v["ts_max_0xFFFFFFFE"], zulu(fitSeconds(0xFFFFFFFE)))
	assert.Zero(t, fitSeconds(0xFFFFFFFF))

	assert.Equal(t, number("semicircle_deg"), degrees(1))
	assert.Equal(t, 45.0, degrees(int32(number("45deg_sc"))))
	assert.Equal(t, -90.0, degrees(int32(number("-90deg_sc"))))
	assert.InDelta(t, -37.951033416666667, degrees(int32(number("flinders_lat_sc"))), number("semicircle_deg"))
	assert.InDelta(t, 144.424867888888889, degrees(int32(number("flinders_lon_sc"))), number("semicircle_deg"))

	for _, raw := range []uint16{0, 2500, 2501, 65534} {
		s := sampleOf(func(r *fitRecord) { r.alt16 = raw })
		assert.InDelta(t, number("alt_raw_"+strconv.Itoa(int(raw))+"_m"), s.Alt, 1e-9)
	}
	assert.InDelta(t, number("dist_raw_5414_m"), sampleOf(func(r *fitRecord) { r.dist = 5414 }).Dist, 1e-12)
	assert.InDelta(t, number("speed_raw_4759_ms"), sampleOf(func(r *fitRecord) { r.speed16 = 4759 }).Speed, 1e-12)
	assert.Equal(t, "invalid", v["alt_raw_65535"])
	assert.Equal(t, "invalid", v["0x7FFFFFFF_sint32"])
	for i, absent := range values(sampleOf(func(r *fitRecord) { *r = noRecord; r.t = 1 })) {
		assert.True(t, math.IsNaN(absent), "value %d", i)
	}
}

// Of the poles only the southern is a place to tormoder; nobody rides at either.
func TestFITLatitudes(t *testing.T) {
	for lat, there := range map[int32]bool{-1<<30 - 1: false, -1 << 30: true, 0: true, 1<<30 - 1: true, 1 << 30: false, noS4: false} {
		s := sampleOf(func(r *fitRecord) { r.lat, r.lon = lat, 1 })
		assert.Equal(t, there, !math.IsNaN(s.Lat) && !math.IsNaN(s.Lon), "%d", lat)
	}
}

func zulu(ms int64) string { return time.UnixMilli(ms).UTC().Format("2006-01-02 15:04:05Z") }

// sampleOf converts a record in which only what set sets is there.
func sampleOf(set func(*fitRecord)) Sample {
	r := noRecord
	r.t = day0Millis
	set(&r)
	var f fitFacts
	f.add(&r)
	return f.samples[0]
}

// refusedAs reads a file that must be refused with a hint.
func refusedAs(t testing.TB, file []byte) *RefusedError {
	t.Helper()
	tracks, err := readFIT(file, Options{})
	var bad *RefusedError
	require.ErrorAs(t, err, &bad)
	require.Empty(t, tracks)
	require.NotEmpty(t, bad.Hint)
	return bad
}

func TestFITRefuses(t *testing.T) {
	ride := fitRide(600)
	bad := bytes.Clone(ride)
	bad[len(bad)/2] ^= 1
	unfinished := bytes.Clone(ride[:len(ride)-200])
	copy(unfinished[4:8], []byte{0, 0, 0, 0})
	undefined := sealFIT([]byte{0x05, 1, 2, 3}, 14, true)
	ahead := slices.Concat(ride, fitRide(60)[:300])
	for _, c := range []struct {
		name string
		file []byte
		why  string
	}{
		{"empty", nil, "not a FIT file: its header is missing or damaged"},
		{"text", []byte("time,km\n8:00,12\n"), "not a FIT file: its header is missing or damaged"},
		{"header only", ride[:14], "the file is cut: no point of a ride is whole"},
		{"cut", ride[:len(ride)/2], "the file is cut: 5 of about 10 minutes are whole"},
		{"without its checksum", ride[:len(ride)-2], "the file is cut: 10 of about 10 minutes are whole"},
		{"checksum", bad, "the checksum is wrong: 10 of 10 minutes can be read"},
		{"size 0", unfinished, "the device never finished the file: 10 minutes can be read"},
		{"no definition", undefined, "the file is damaged: no point of a ride is whole"},
		{"second part cut", ahead, "part 2 of 2: the file is cut: 9 of about 45 seconds are whole"},
		{"second header damaged", slices.Concat(ride, ride[:8], []byte(".FiT...")), "part 2 is damaged: its header makes no sense"},
		{"long chain", bytes.Repeat(sealFIT(nil, 12, false)[:12], 300), "the device never finished the file: no point of a ride is whole"},
		{"many parts", bytes.Repeat(sealFIT([]byte{0x41, 0, 0, 20, 0, 0}, 12, false), 300), "a chain of more than 255 FIT files"},
		{"large", make([]byte, maxFITBytes+1), "larger than 32 MB, which no ride is"},
		{"points", fitGrowth(1_000_001, mesgRecord), "more than 1,000,000 points"},
		{"others", fitGrowth(1_000_001, 21), "more messages than a ride can have"},
		{"descriptions", fitGrowth(300, mesgFieldDesc), "more messages than a ride can have"},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Contains(t, refusedAs(t, c.file).Why, c.why)
		})
	}
}

// fitGrowth is a file of n messages of two bytes each, which would grow a
// hundredfold if it were decoded.
func fitGrowth(n int, mesg uint16) []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	m.define(1, mesg, fitField{3, 1, baseUint8})
	m.body = append(m.body, bytes.Repeat([]byte{1, 120}, n)...)
	return m.file()
}

// Wherever a file is cut, it is refused, and what is whole in it can be saved.
func TestFITCutAnywhere(t *testing.T) {
	ride := fitRide(20)
	whole := oneTrack(t, ride).Samples
	most := 0
	for n := range len(ride) {
		refusedAs(t, ride[:n])
		tracks, err := openFIT(ride[:n], true)
		if err != nil {
			assert.Zero(t, most, "saved from %d bytes less, but not from %d", n-1, n)
			continue
		}
		require.Len(t, tracks, 1)
		assert.NotEmpty(t, tracks[0].Warnings)
		got := tracks[0].Samples
		assert.GreaterOrEqual(t, len(got), most)
		sameSamples(t, "cut", whole[:len(got)], got)
		most = len(got)
	}
	assert.Equal(t, 20, most)
}

// The checksum finds every single wrong byte: none is ever taken for a ride.
func TestFITWrongByteAnywhere(t *testing.T) {
	ride := fitRide(5)
	for i := range ride {
		for _, flip := range []byte{0x01, 0x40, 0x80, 0xFF} {
			b := bytes.Clone(ride)
			b[i] ^= flip
			_, err := readFIT(b, Options{})
			assert.Error(t, err, "byte %d", i)
		}
	}
}

// Headers of 12 bytes and without a checksum of their own are sound.
func TestFITHeaders(t *testing.T) {
	body := fitRide(30)[14:]
	body = body[:len(body)-fitChecksumSize]
	want := oneTrack(t, sealFIT(body, 14, true))
	for _, file := range [][]byte{sealFIT(body, 12, false), sealFIT(body, 14, false)} {
		assert.Equal(t, want.Totals.Moving, oneTrack(t, file).Totals.Moving)
		p := walkFIT(file)
		f, err := p.byTormoder()
		require.NoError(t, err)
		sameSamples(t, "tormoder", want.Samples, f.samples)
		f, err = p.byMuktihari()
		require.NoError(t, err)
		sameSamples(t, "muktihari", want.Samples, f.samples)
	}
}

// Padding after the end is ignored with a warning.
func TestFITPadding(t *testing.T) {
	tr := oneTrack(t, append(fitRide(30), make([]byte, 100)...))
	assert.Equal(t, []string{"100 bytes after the end of the file were ignored"}, tr.Warnings)
}

// What tormoder misreads, or would keep too much of, goes to muktihari.
func TestFITHard(t *testing.T) {
	body := fitRide(3)[14:]
	body = body[:len(body)-fitChecksumSize]
	var packed, cycles, power, compressed, developer fitMaker
	packed.define(6, 20, fitField{8, 3, 0x0D})
	cycles.define(6, 20, fitField{18, 1, baseUint8})
	power.define(6, 20, fitField{28, 2, baseUint16})
	compressed.define(0, 20, fitField{3, 1, baseUint8})
	compressed.body = append(compressed.body, 0x85, 120)
	developer.body = []byte{0x66, 0, 0, 20, 0, 0, 1, 0, 1, 0, 0x06, 9}
	var heights, speeds, twice, narrow, half, wide, array, full, ended, again fitMaker
	heights.define(6, 20, fitField{2, 2, baseUint16}, fitField{78, 4, baseUint32})
	speeds.define(6, 20, fitField{73, 4, baseUint32}, fitField{6, 2, baseUint16})
	twice.define(6, 21, fitField{253, 4, baseUint32}, fitField{253, 4, baseUint32})
	narrow.define(6, 21, fitField{3, 1, baseUint8})
	half.define(6, 21, fitField{3, 4, baseUint16})
	wide.define(6, 18, fitField{124, 8, baseUint32})
	array.define(6, 18, fitField{65, 8, baseUint32})
	full.define(6, 23, fitField{19, 3, baseString})
	full.data(6, "Cam")
	ended.define(6, 23, fitField{19, 4, baseString})
	ended.data(6, "Cam\x00")
	fitID(&again, 4)
	for name, c := range map[string]struct {
		more []byte
		hard bool
	}{
		"a plain ride":              {nil, false},
		"compressed distance":       {packed.body, true},
		"cycles":                    {cycles.body, true},
		"compressed power":          {power.body, true},
		"compressed timestamps":     {compressed.body, true},
		"only developer fields":     {developer.body, true},
		"field 8 of another record": {[]byte{0x46, 0, 0, 21, 0, 1, 8, 2, baseUint16}, false},
		"altitude twice":            {heights.body, true},
		"speed twice":               {speeds.body, true},
		"a field twice":             {twice.body, true},
		"a narrow field":            {narrow.body, true},
		"a base type half as wide":  {half.body, true},
		"a wide field":              {wide.body, true},
		"an array":                  {array.body, false},
		"a name without an end":     {full.body, true},
		"a name with an end":        {ended.body, false},
		"a second file_id":          {again.body, true},
		"many points":               {append([]byte{0x46, 0, 0, 20, 0, 0}, bytes.Repeat([]byte{6}, maxFITKept)...), true},
	} {
		file := sealFIT(slices.Concat(body, c.more), 14, true)
		p := walkFIT(file)
		assert.Equal(t, fitWhole, p.flaw, name)
		assert.Equal(t, c.hard, p.hard, name)
		assert.GreaterOrEqual(t, len(oneTrack(t, file).Samples), 3, name)
	}
}
