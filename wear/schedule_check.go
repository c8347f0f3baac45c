package wear

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// mostDays is beyond any lead time: a hundred years.
const mostDays = 36_500

// check refuses a schedule that reads well but makes no sense.
func (s *Schedule) check() error {
	if !(s.LeadDays > 0 && s.MissedHours > 0 && s.FleetTimes > 1 && s.EarlyShare >= 0 && max(s.LeadDays, s.MissedHours) <= mostDays) {
		return errors.New("lead_days and missed_hours must be above 0, fleet_times above 1, early_share not negative")
	}
	a := s.Assumed
	if !(min(a.Ring, a.Idler, a.Pulley, a.BusyCog) >= 5 && a.BusyShare > 0 && a.BusyShare <= 1) {
		return errors.New("assumed: teeth must be 5 or more, busy_share between 0 and 1")
	}
	for i := range s.kinds {
		k := &s.kinds[i]
		if w := s.kind(k.CarriedBy); k.CarriedBy != "" && (w == nil || w.CarriedBy != "") {
			return fmt.Errorf("kind %q: on %q: not a kind that carries parts", k.Name, k.CarriedBy)
		}
		for j := range k.Jobs {
			if err := s.checkJob(k, &k.Jobs[j]); err != nil {
				return fmt.Errorf("kind %q: job %q: %w", k.Name, k.Jobs[j].Name, err)
			}
		}
	}
	return nil
}

func (s *Schedule) checkJob(k *Kind, j *Job) error {
	acts := []Act{ActClean, ActMeasure, ActLook, ActCheck, ActChange, ActService}
	switch {
	case j.Name == "" || j.Title == "" || j.Advice == "":
		return errors.New("needs name, title and advice")
	case !slices.Contains(acts, j.Act):
		return fmt.Errorf("act %q: not one of %v", j.Act, acts)
	}
	if first, _ := k.Job(j.Name); first != j {
		return errors.New("named twice")
	}
	for _, r := range j.RestartedBy {
		if s.kind(r) == nil {
			return fmt.Errorf("restarted by %q: no such kind", r)
		}
	}
	for _, d := range j.DoneBy {
		if _, ok := k.Job(d); !ok {
			return fmt.Errorf("done by %q: no such job of the kind", d)
		}
	}
	return checkIntervals(k, j)
}

func checkIntervals(k *Kind, j *Job) error {
	if err := j.Interval.check(); err != nil {
		return err
	}
	if j.Act == ActChange && len(j.Interval.Then) > 0 && k.Inspected() {
		return errors.New("a part that can be measured or looked at is not changed by a count: use expect")
	}
	for _, v := range j.Variants {
		for _, c := range v.Is {
			if !slices.Contains(conditions, c) {
				return fmt.Errorf("condition %q: not one of %v", c, conditions)
			}
		}
		if len(v.Is) == 0 {
			return errors.New("a when needs an is")
		}
		if err := j.Interval.with(v.Interval).check(); err != nil {
			return err
		}
	}
	return nil
}

func (iv Interval) check() error {
	for _, list := range [][]Count{iv.First, iv.Then, iv.Soon, iv.Expect} {
		if err := checkCounts(list); err != nil {
			return err
		}
	}
	if (len(iv.Soon) > 0) != (len(iv.SoonAfter) > 0) {
		return errors.New("soon and soon_after go together")
	}
	if r := iv.Reading; r != nil {
		return r.check()
	}
	return nil
}

func checkCounts(list []Count) error {
	for _, c := range list {
		if !(c.Limit > 0 && c.Limit <= math.MaxFloat32) {
			return fmt.Errorf("%s: must be above 0 and a figure that can be reached", c.Of)
		}
	}
	return nil
}

func (l Limit) check() error {
	if !slices.Contains([]ReadingOf{Elongation, Lining, Thickness, Knob}, l.Of) {
		return fmt.Errorf("reading of %q: not one of elongation, lining, thickness, knob", l.Of)
	}
	for _, v := range []float64{l.New, l.Due, l.Stop, l.FleetStop} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return errors.New("reading: not a figure")
		}
	}
	if l.Due == l.New || l.Rises() != (l.Of == Elongation) {
		return errors.New("reading: due must lie on the worn side of new")
	}
	for _, stop := range []float64{l.Stop, l.FleetStop} {
		if stop != 0 && !l.Reached(stop, l.Due) {
			return errors.New("reading: stop must lie beyond due")
		}
	}
	return nil
}
