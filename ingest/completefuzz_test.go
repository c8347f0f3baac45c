package ingest

import (
	"bytes"
	"testing"
)

// FuzzComplete: whatever the bytes, there is an answer; and of a whole ride no
// beginning is complete that is not whole itself.
func FuzzComplete(f *testing.F) {
	fit, gpx, tcx := shortRide()
	rides := [][]byte{fit, gpx, tcx, join(fit, fit), zipped(f, fit), zipped(f, gpx), zipped(f, tcx)}
	for i, ride := range rides {
		f.Add(ride, byte(i), uint32(len(ride)-1))
		f.Add(ride[:len(ride)/2], byte(i), uint32(len(ride)/2))
	}
	f.Add([]byte("date,km\n2025-06-01,30\n"), byte(0), uint32(3))
	f.Fuzz(func(t *testing.T, content []byte, which byte, cut uint32) {
		_ = isWhole(content)
		ride := rides[int(which)%len(rides)]
		if !isWhole(ride) {
			t.Fatal("a whole ride is not complete")
		}
		begin := ride[:int(cut)%len(ride)]
		if isWhole(begin) && !wholeBeginning(ride, begin, fit) {
			t.Fatalf("%d of %d bytes of ride %d are said to be complete", len(begin), len(ride), which)
		}
	})
}

// wholeBeginning reports whether what begins a ride is a file of its own: it
// lacks nothing but the space at its end, or it is the first of two.
func wholeBeginning(ride, begin, first []byte) bool {
	return len(bytes.TrimSpace(ride[len(begin):])) == 0 || bytes.Equal(begin, first)
}

// TestCompleteOfEveryBeginning cuts short files at every byte.
func TestCompleteOfEveryBeginning(t *testing.T) {
	fit := fitRide(5)
	tcx := []byte(`<?xml version="1.0"?><TrainingCenterDatabase><Activities><Activity Sport="Biking">` +
		`<Id>2025-06-01T08:00:00Z</Id></Activity></Activities></TrainingCenterDatabase>` + "\n")
	gpx := []byte("\xEF\xBB\xBF" + ` <?xml version="1.0"?><!-- <gpx> --><gpx version="1.1"><trk/></gpx>` + "\r\n")
	for _, ride := range [][]byte{fit, join(fit, fit), tcx, gpx, zipped(t, fit), zipped(t, tcx), bundleOf(t, entry{"a.fit", fit})} {
		for cut := range ride {
			if isWhole(ride[:cut]) && !wholeBeginning(ride, ride[:cut], fit) {
				t.Errorf("%d of %d bytes are said to be complete: %.60q", cut, len(ride), ride)
			}
		}
	}
}
