package ingest

import (
	"fmt"
	"math"
)

// fillIn puts back what GPX and TCX, or the programs that write them, leave
// out: timer stops, and the zeros of sensors.
func (t *Track) fillIn() {
	t.standstills()
	t.doubtTimer()
	t.zerosBack("cadence", func(s *Sample) *float64 { return &s.Cadence })
	t.zerosBack("power", func(s *Sample) *float64 { return &s.Power })
}

// standstills adds a pause for each gap in the recording over which the bike
// did not get anywhere: that is how a timer stop shows. Three real FIT files
// without their stops come within 1.1 % of the device's timer by it; without it
// they are 4 to 9 % over.
func (t *Track) standstills() {
	broken := 0
	for i := 1; i < len(t.Samples); i++ {
		a, b := &t.Samples[i-1], &t.Samples[i]
		if broken < len(t.Breaks) && t.Breaks[broken] == i { // no step at all
			broken++
			continue
		}
		gap := seconds(a.T, b.T)
		if gap <= quietGap {
			continue
		}
		way := b.Dist - a.Dist
		if math.IsNaN(way) {
			way = metresBetween(a, b)
		}
		if way < slowest*gap {
			t.Pauses = append(t.Pauses, Pause{a.T, b.T})
		}
	}
}

// doubtTimer drops a timer time that is nothing but the time from start to end,
// as some programs write it, where the samples show that the bike stood.
func (t *Track) doubtTimer() {
	if len(t.Pauses) > 0 && t.Totals.Moving >= seconds(t.Start, t.End)-2 {
		t.Totals.Moving = math.NaN()
	}
}

// When a sensor that is silent now and then, and never says zero, says zero by
// its silence: after so many values, in so many silences and so much of the
// ride, none of them so long that the sensor might be dead.
const (
	leastSaid    = 60
	leastSilent  = 3
	silentShare  = 0.02
	longestQuiet = deadAfter // s
)

// zerosBack puts zeros into the silences of a sensor where the file leaves them
// out: nobody rides for long without coasting. On a trainer some do, so without
// places nothing is put back.
func (t *Track) zerosBack(sensor string, of func(*Sample) *float64) {
	said, silences, silent, last, places := 0, 0, 0, -1, false
	for i := range t.Samples {
		s := &t.Samples[i]
		places = places || !math.IsNaN(s.Lat)
		switch x := *of(s); {
		case x == 0:
			return
		case x > 0:
			if last >= 0 && i-last > 1 && seconds(t.Samples[last].T, s.T) <= longestQuiet {
				silences++
				silent += i - last - 1
			}
			said++
			last = i
		}
	}
	if !places || said < leastSaid || silences < leastSilent || float64(silent) < silentShare*float64(len(t.Samples)) {
		return
	}
	t.zero(of)
	t.Warnings = append(t.Warnings, fmt.Sprintf("the file leaves out a %s of zero: put back", sensor))
}

// zero fills the silences between two values that are not too far apart.
func (t *Track) zero(of func(*Sample) *float64) {
	last := -1
	for i := range t.Samples {
		if math.IsNaN(*of(&t.Samples[i])) {
			continue
		}
		if last >= 0 && seconds(t.Samples[last].T, t.Samples[i].T) <= longestQuiet {
			for k := last + 1; k < i; k++ {
				*of(&t.Samples[k]) = 0
			}
		}
		last = i
	}
}
