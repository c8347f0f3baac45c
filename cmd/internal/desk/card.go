package desk

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"pawl/store"
	"pawl/wear"
)

// CardState is what the job card of a bike tells the stand.
type CardState struct {
	Bike     wear.Bike
	Owner    string // "" = nobody's
	Today    wear.Instant
	Visit    wear.Instant   // when it comes; 0 = not planned
	Findings []wear.Finding // in working order
	Setup    SetupPage
	SignOffs []CardSignOff // the last ones, newest first
	Declined []CardSignOff // offered and not wanted, and not done since
	Parts    []string      // to take to the stand
}

// CardSignOff is a sign-off, and which part it was of.
type CardSignOff struct {
	Part string
	wear.SignOff
}

// cardSignOffs is how many of the last sign-offs a card shows.
const cardSignOffs = 5

// Card gathers the job card of a bike.
func (d *Desk) Card(ctx context.Context, bike, today string) (s CardState, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if s.Today, err = d.today(today, tx.Zone()); err != nil {
			return err
		}
		if s.Bike, err = tx.FindBike(bike); err != nil {
			return err
		}
		c, err := tx.Case(s.Bike.ID, s.Today)
		if err != nil {
			return err
		}
		s.Findings = wear.WorkingOrder(wear.Assess(c, wear.Default()))
		plan := wear.PlanVisit(wear.Visit{Bike: s.Bike.ID, At: s.Today}, s.Findings)
		s.Parts = plan.Parts
		s.cardSignOffs(c)
		if s.Setup, err = setupPage(tx, c); err != nil {
			return err
		}
		s.Setup.Torque = guideTorque(s.Findings)
		return d.cardOwner(tx, &s)
	})
	return s, err
}

// cardOwner adds whose the bike is and when it comes.
func (d *Desk) cardOwner(tx *store.Tx, s *CardState) error {
	if p, err := tx.Person(s.Bike.Owner); err == nil {
		s.Owner = p.Name
	} else if !isUnknown(err) {
		return err
	}
	ahead, err := d.visitsAhead(tx, s.Bike.ID)
	if len(ahead) > 0 {
		s.Visit = ahead[0].At
	}
	return err
}

// cardSignOffs adds what was done last, and what was declined and is still open.
func (s *CardState) cardSignOffs(c wear.Case) {
	open := map[string]bool{}
	for _, f := range s.Findings {
		if f.Declined != 0 {
			open[fmt.Sprint(f.PartID, f.Job)] = true
		}
	}
	for _, p := range slices.Concat(c.Parts, c.Past) {
		for _, o := range p.SignOffs {
			line := CardSignOff{p.Part.Name, o}
			switch {
			case o.Void || o.Bike != c.Bike.ID || o.At > c.Today:
			case !o.Declined:
				s.SignOffs = append(s.SignOffs, line)
			case open[fmt.Sprint(o.Part, o.Job)]:
				s.Declined = append(s.Declined, line)
			}
		}
	}
	newest := func(a, b CardSignOff) int { return cmp.Or(cmp.Compare(b.At, a.At), cmp.Compare(b.ID, a.ID)) }
	slices.SortFunc(s.SignOffs, newest)
	slices.SortFunc(s.Declined, newest)
	s.SignOffs = s.SignOffs[:min(cardSignOffs, len(s.SignOffs))]
}

// CardWork is a card as it comes back from the stand.
type CardWork struct {
	Bike, On, By string
	Jobs         []CardJob
}

// CardJob is what was done, seen and read of one job.
type CardJob struct {
	Part, Job      string
	Done, Declined bool
	Torque         float64 // N·m; 0 = not given
	Minutes        int
	Cost           int64 // hundredths
	Note           string
	Sitting        *wear.Sitting // what a tool said; nil = nothing
	Look           string        // a word; "" = nothing
	Model          string        // of the new part; "" = as the old one
}

// CardDone is what a card entered.
type CardDone struct {
	Bike     wear.Bike
	Signed   []SignedJob
	Measured []Measured
	Looks    int
}

// EnterCard enters a card: all that it says, or nothing. What was read and seen
// goes in before what was done, which may change the part.
func (d *Desk) EnterCard(ctx context.Context, w CardWork) (done CardDone, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		done = CardDone{}
		if done.Bike, err = tx.FindBike(w.Bike); err != nil {
			return err
		}
		if err := d.enteredBefore(tx, w); err != nil {
			return err
		}
		tx.Begin("signoff", done.Bike.Name+", a card", d.Who)
		for _, j := range w.Jobs {
			if err := d.enterSeen(tx, w, j, &done); err != nil {
				return fmt.Errorf("%s %s: %w", j.Part, j.Job, err)
			}
		}
		for _, j := range w.Jobs {
			if err := d.enterDone(tx, w, j, &done); err != nil {
				return fmt.Errorf("%s %s: %w", j.Part, j.Job, err)
			}
		}
		if len(done.Signed)+len(done.Measured)+done.Looks == 0 {
			return mistake("write true behind done, or a reading or look, in the form", "card of %q: nothing was done", done.Bike.Name)
		}
		return nil
	})
	return done, err
}

// enterSeen enters the reading and the look of a job.
func (d *Desk) enterSeen(tx *store.Tx, w CardWork, j CardJob, done *CardDone) error {
	f := Fact{Bike: w.Bike, Part: j.Part, On: w.On, By: w.By, Note: j.Note}
	if j.Sitting != nil {
		m, err := d.measure(tx, f, *j.Sitting)
		if err != nil {
			return err
		}
		done.Measured = append(done.Measured, m)
	}
	if j.Look != "" {
		if _, _, err := d.look(tx, f, j.Look); err != nil {
			return err
		}
		done.Looks++
	}
	return nil
}

// enterDone signs a job off, or enters that it was declined.
func (d *Desk) enterDone(tx *store.Tx, w CardWork, j CardJob, done *CardDone) error {
	if !j.Done && !j.Declined {
		return nil
	}
	if j.Done && j.Declined {
		return mistake("write true behind one of them", "done and declined")
	}
	signed, err := d.signOff(tx, SignOffRequest{
		Bike: w.Bike, Jobs: []string{j.Part + ":" + j.Job}, On: w.On, By: w.By, Note: j.Note, Torque: j.Torque,
		Cost: j.Cost, Minutes: j.Minutes, New: wear.Part{Model: plainText(j.Model)}, Declined: j.Declined,
	})
	done.Signed = append(done.Signed, signed...)
	return err
}

// enteredBefore refuses a card of which a job was signed off that day in the same
// words: it would count twice.
func (d *Desk) enteredBefore(tx *store.Tx, w CardWork) error {
	for _, j := range w.Jobs {
		if !j.Done && !j.Declined {
			continue
		}
		bike, part, at, err := d.bikePartAndDay(tx, Fact{Bike: w.Bike, Part: j.Part, On: w.On})
		if err != nil {
			return err
		}
		signed, err := tx.SignOffs(part.ID)
		if err != nil {
			return err
		}
		for _, s := range signed {
			same := !s.Void && s.Job == j.Job && s.Declined == j.Declined && s.By == plainText(w.By) && s.Note == plainText(j.Note) &&
				s.Minutes == j.Minutes && s.Cost == j.Cost && startOfDay(s.At, tx.Zone()) == startOfDay(at, tx.Zone())
			if same {
				return refusal("take out of the form what is in the book, or pawl undo what was entered first",
					"card of %q: %s:%s was signed off that day in the same words", bike.Name, part.Name, j.Job)
			}
		}
	}
	return nil
}
