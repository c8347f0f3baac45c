package wear

import (
	"fmt"
	"math"
)

// says is the forecast in words, step by step.
func (f *Forecast) says(j *judge) []string {
	of := j.a.forecast(j.p).sort.by.Of
	out := []string{f.sayPrior(of)}
	for i := range f.Weights {
		out = append(out, f.sayReading(of, &f.Weights[i]))
	}
	if len(f.Weights) > 0 {
		out = append(out, f.sayLine(of))
	}
	if f.Crossing.P50 != nil {
		out = append(out, fmt.Sprintf("%g %s at about %s on this bike%s", f.Limit, f.Unit, about(of, *f.Crossing.P50), f.sayRange(of, f.Crossing)))
	}
	return out
}

// life is the load that takes a part from the start of a line to the limit.
func (f *Forecast) life(l Line) float64 { return max(0, (f.Limit-l.Start)/l.Rate) }

func (f *Forecast) sayPrior(of CountOf) string {
	s := fmt.Sprintf("before it was measured: %.2g %s as it came, %g %s after about %s, × ÷ %.1f", f.Prior.Start, f.Unit, f.Limit, f.Unit,
		about(of, f.life(f.Prior)), math.Exp(normal90*f.Prior.RateSpread))
	switch {
	case f.Earlier == 1:
		s += ", an earlier one of this bike counted in"
	case f.Earlier > 1:
		s += fmt.Sprintf(", %d earlier ones of this bike counted in", f.Earlier)
	case f.Guessed:
		s += ", a guess: the schedule does not say what such a part lasts"
	}
	return s
}

func (f *Forecast) sayReading(of CountOf, w *Weight) string {
	s := w.Reading.held()
	if w.Load < 0 {
		return s + " on an earlier bike: that is how it came to this one"
	}
	s += fmt.Sprintf(" at %s: %.0f %% of what is known of its rate", about(of, w.Load), 100*w.Share)
	switch {
	case w.Off > oddOff:
		s += ", far above the line"
	case w.Off < -oddOff:
		s += ", far below the line"
	}
	return s
}

// oddOff is how many standard deviations off its line a reading is said to be.
const oddOff = 2.5

func (f *Forecast) sayLine(of CountOf) string {
	per := f.perLoad(of)
	return fmt.Sprintf("the line: %.2g %s as it came, %.2g %s per %s; now about %.2g %s (%.2g – %.2g)", f.Line.Start, f.Unit,
		math.Abs(f.Line.Rate)*per.Limit, f.Unit, per, *f.Now.P50, f.Unit, *f.Now.P10, *f.Now.P90)
}

// perLoad is a round amount of load of about a fifth of a part's life.
func (f *Forecast) perLoad(of CountOf) Count {
	scale := countKinds[of].scale
	n := max(1, f.life(f.Line)/5/scale)
	return Count{of, math.Pow(10, math.Floor(math.Log10(n))) * scale}
}

func (f *Forecast) sayRange(of CountOf, r Range) string {
	switch {
	case r.P10 == nil:
		return ""
	case r.P90 == nil:
		return fmt.Sprintf(", in 9 cases of 10 not before %s", about(of, *r.P10))
	}
	return fmt.Sprintf(", in 8 cases of 10 between %s and %s", about(of, *r.P10), about(of, *r.P90))
}
