package desk

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pawl/store"
	"pawl/wear"
)

// SetupPage is how a bike's chain guide is set up.
type SetupPage struct {
	Bike     wear.Bike
	Today    wear.Instant
	Known    bool              // anything was entered
	Guided   bool              // there is a guide to check: one is on the bike, or one was set
	State    wear.SetupState   // zero unless Known
	Records  []wear.GuideSetup // up to Today, oldest first, none taken back
	Ring     int               // teeth now on; 0 = not known
	Torque   float64           // N·m, the maker's figure for the guide's bolts; 0 = not in the schedule
	Cautions []string
}

// Due reports whether the parking-lot check of the guide is to be done.
func (p SetupPage) Due() bool { return p.Known && p.Guided && p.State.CheckDue }

// Setup shows how a bike's guide is set up.
func (d *Desk) Setup(ctx context.Context, bike, today string) (p SetupPage, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		at, err := d.today(today, tx.Zone())
		if err != nil {
			return err
		}
		b, err := tx.FindBike(bike)
		if err != nil {
			return err
		}
		c, err := tx.Case(b.ID, at)
		if err != nil {
			return err
		}
		p, err = setupPage(tx, c)
		if err != nil {
			return err
		}
		p.Torque = guideTorque(wear.Assess(c, wear.Default()))
		return nil
	})
	return p, err
}

func setupPage(tx *store.Tx, c wear.Case) (SetupPage, error) {
	p := SetupPage{Bike: c.Bike, Today: c.Today}
	all, err := tx.Setups(c.Bike.ID)
	if err != nil {
		return p, err
	}
	for _, g := range all {
		if !g.Void && g.At <= c.Today {
			p.Records = append(p.Records, g)
		}
	}
	p.State, p.Known = wear.SetupOf(c, p.Records, wear.Default())
	p.Guided = p.Known && (p.State.Set != wear.Ever || p.State.Setup.Lot != nil)
	for i := range c.Parts {
		switch c.Parts[i].Part.Kind {
		case "guide":
			p.Guided = true
		case "ring":
			p.Ring = c.Parts[i].Part.Teeth
		}
	}
	p.Cautions = cautions([2]string{"guide", "look"}, [2]string{"guide-bolts", "check"})
	return p, nil
}

// guideTorque is the maker's figure for the guide's bolts, where an override of
// the schedule gives it.
func guideTorque(fs []wear.Finding) float64 {
	for i := range fs {
		if fs[i].Kind == "guide-bolts" && fs[i].Torque != 0 {
			return fs[i].Torque
		}
	}
	return 0
}

// cautions are what to mind at some jobs, each kind:job once.
func cautions(jobs ...[2]string) []string {
	var list []string
	for _, of := range jobs {
		kind, _ := wear.Default().Kind(of[0])
		if j, ok := kind.Job(of[1]); ok && j.Caution != "" && !slices.Contains(list, j.Caution) {
			list = append(list, j.Caution)
		}
	}
	return list
}

// SetupEntered is what was entered of a guide, and how it stands since.
type SetupEntered struct {
	Record wear.GuideSetup
	Page   SetupPage
	Notes  []string // what was assumed
}

// EnterSetup enters what was set, measured or checked on a bike's guide.
func (d *Desk) EnterSetup(ctx context.Context, f Fact, g wear.GuideSetup) (res SetupEntered, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		b, at, err := d.bikeAndDay(tx, f.Bike, f.On)
		if err != nil {
			return err
		}
		g.Bike, g.At, g.By, g.Note, g.Lower = b.ID, at, plainText(f.By), plainText(f.Note), plainText(g.Lower)
		c, err := tx.Case(b.ID, at)
		if err != nil {
			return err
		}
		before, err := setupPage(tx, c)
		if err != nil {
			return err
		}
		res = SetupEntered{}
		res.ring(&g, before)
		if err := whole(c, before, g); err != nil {
			return err
		}
		tx.Begin("setup", b.Name, d.Who)
		if res.Record, err = tx.AddSetup(g); err != nil {
			return err
		}
		if c, err = tx.Case(b.ID, wear.At(d.Now)); err != nil {
			return err
		}
		if res.Page, err = setupPage(tx, c); err != nil {
			return err
		}
		res.remark(before)
		return nil
	})
	return res, err
}

// remark adds what does not look right now and did not before, and what to enter besides.
func (res *SetupEntered) remark(before SetupPage) {
	for _, w := range res.Page.State.Warnings {
		if !slices.Contains(before.State.Warnings, w) {
			res.Notes = append(res.Notes, w)
		}
	}
	name := res.Page.Bike.Name
	if len(res.Record.Torques) > 0 {
		res.Notes = append(res.Notes, fmt.Sprintf("pawl signoff %q guide-bolts:check says that the bolts were checked", name))
	}
	if l := res.Record.Lot; l != nil && slices.Contains([]wear.Answer{l.Shifts, l.NoRub, l.Clear}, wear.Failed) {
		res.Notes = append(res.Notes, fmt.Sprintf("a guide that is loose, touches or lacks a bolt is not ridden: pawl look %q guide unsafe", name))
	}
	if res.Page.Due() {
		res.Notes = append(res.Notes, "the parking-lot check is to be done: "+strings.Join(res.Page.State.Why, "; "))
	}
}

// ring takes the ring that is on for the one that the guide was set for, where
// nobody says otherwise and the guide was moved or none was known.
func (res *SetupEntered) ring(g *wear.GuideSetup, before SetupPage) {
	moved := g.Lower != "" || g.Angle != nil || g.Mount != "" || g.Spacers != nil
	known := before.State.Setup.Ring != 0 && (g.Lower == "" && g.Angle == nil)
	if g.Ring != 0 || !moved || known || before.Ring == 0 || before.Ring == before.State.Setup.Ring {
		return
	}
	g.Ring = before.Ring
	res.Notes = append(res.Notes, fmt.Sprintf("taken as set for the ring of %d teeth that is on; --ring says otherwise", g.Ring))
}

// whole refuses a set-up that cannot be, by itself or on top of what holds.
func whole(c wear.Case, before SetupPage, g wear.GuideSetup) error {
	if err := g.Check(); err != nil {
		return mistake("pawl setup --help has the units; figures in mm, a torque with its unit", "%v", err)
	}
	g.ID = math.MaxUint64 // behind what was entered for the same moment
	st, _ := wear.SetupOf(c, append(slices.Clip(before.Records), g), wear.Default())
	if err := st.Setup.Check(); err != nil {
		return mistake("spacers and torques of the mount before still hold: give --spacers and --torque anew", "%v", err)
	}
	return nil
}

// VoidSetup takes back what was entered of a guide on a day, the last of what
// was entered for the same moment. It stays in the history.
func (d *Desk) VoidSetup(ctx context.Context, f Fact) (b wear.Bike, g wear.GuideSetup, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		var at wear.Instant
		if b, at, err = d.bikeAndDay(tx, f.Bike, f.On); err != nil {
			return err
		}
		all, err := tx.Setups(b.ID)
		if err != nil {
			return err
		}
		all = slices.DeleteFunc(all, func(g wear.GuideSetup) bool { return g.Void })
		if g, err = setupThen(b, all, voiding{on: f.On, at: at, zone: tx.Zone()}); err != nil {
			return err
		}
		tx.Begin("setup void", b.Name, d.Who)
		return tx.VoidSetup(b.ID, g.ID)
	})
	return b, g, err
}

// setupThen is the record of the moment that is meant.
func setupThen(b wear.Bike, all []wear.GuideSetup, v voiding) (g wear.GuideSetup, err error) {
	var found []wear.GuideSetup
	for _, g := range all {
		if v.then(g.At) {
			found = append(found, g)
		}
	}
	if len(found) == 0 {
		tip := "nothing was entered of it"
		if len(all) > 0 {
			tip = "the last was --on " + day(all[len(all)-1].At, v.zone)
		}
		return g, refusal(tip, "bike %q: no guide set-up on %s", b.Name, day(v.at, v.zone))
	}
	g = found[len(found)-1]
	if first := found[0]; first.At.Time().Truncate(time.Minute) != g.At.Time().Truncate(time.Minute) {
		at := g.At.Time().In(v.zone).Format("2006-01-02T15:04")
		return g, mistake("say which by its time: --on "+at, "bike %q: %d guide set-ups on %s", b.Name, len(found), day(v.at, v.zone))
	}
	return g, nil
}
