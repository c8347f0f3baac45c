package desk

import (
	"context"
	"errors"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// Look enters what an eye said of a part.
func (d *Desk) Look(ctx context.Context, f Fact, word string) (l wear.Look, p wear.Part, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		tx.Begin("look", f.Bike+" "+f.Part, d.Who)
		l, p, err = d.look(tx, f, word)
		return err
	})
	return l, p, err
}

func (d *Desk) look(tx *store.Tx, f Fact, word string) (l wear.Look, p wear.Part, err error) {
	if !slices.Contains(wear.Words, wear.Word(word)) {
		return l, p, mistake("say good, watch, replace or unsafe", "look %q: not a word for a look", word)
	}
	bike, p, at, err := d.bikePartAndDay(tx, f)
	if err != nil {
		return l, p, err
	}
	l, err = tx.AddLook(wear.Look{
		Part: p.ID, Bike: bike.ID, At: at, Word: wear.Word(word), Note: plainText(f.Note), By: plainText(f.By),
	})
	return l, p, err
}

// SignOffRequest says which jobs of a bike were done.
type SignOffRequest struct {
	Bike     string
	Jobs     []string // job, kind or kind:job
	On       string
	By       string
	Note     string
	Torque   float64   // N·m
	Cost     int64     // hundredths, of all jobs together
	Minutes  int       // of all jobs together
	New      wear.Part // what the new part is, where a job changes it; the old one's figures where empty
	Declined bool      // offered, and not wanted
	Witness  bool      // the witness marks are intact: that counts as checked
	Cause    string    // why the old part's life ended; "" = worn
}

// SignedJob is one job that was signed off.
type SignedJob struct {
	Job    wear.Job
	Part   wear.Part
	Unsafe *wear.Look // still stands: only another look, or a new part, clears it
	Fitted *wear.Part
	At     wear.Instant
}

// SignOff enters that jobs were done, all of them or none. A job that changes
// a part takes the old one off and fits the new one.
func (d *Desk) SignOff(ctx context.Context, req SignOffRequest) (done []SignedJob, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		tx.Begin("signoff", req.Bike+" "+strings.Join(req.Jobs, " "), d.Who)
		done, err = d.signOff(tx, req)
		return err
	})
	return done, err
}

func (d *Desk) signOff(tx *store.Tx, req SignOffRequest) (done []SignedJob, err error) {
	bike, at, err := d.bikeAndDay(tx, req.Bike, req.On)
	if err != nil {
		return nil, err
	}
	parts, err := tx.PartsOn(bike.ID, at)
	if err != nil {
		return nil, err
	}
	if req.Minutes < 0 || req.Minutes > 24*60 {
		return nil, mistake("--minutes is from 0 to 1440", "--minutes %d: cannot be meant", req.Minutes)
	}
	if req.Declined && (req.Witness || req.Torque > 0) {
		return nil, mistake("leave out --torque and --witness-mark", "declined work has neither torque nor witness mark")
	}
	signings := make([]signing, len(req.Jobs))
	for i, name := range req.Jobs {
		job, part, err := findJob(parts, name)
		if err != nil {
			return nil, err
		}
		signings[i] = signing{req, job, part}
	}
	req.divide(signings)
	for _, s := range signings {
		signed, err := signOff(tx, bike, at, s)
		if err != nil {
			return nil, err
		}
		done = append(done, signed)
	}
	return done, nil
}

// divide gives each of several jobs its share: of the minutes by how long such jobs
// take, of the cost too, but where some change a part, to those.
func (req *SignOffRequest) divide(signings []signing) {
	long, paid := make([]int, len(signings)), make([]int, len(signings))
	changes := func(s signing) bool { return s.job.Act == wear.ActChange }
	some := slices.ContainsFunc(signings, changes)
	for i, s := range signings {
		long[i] = s.job.Minutes
		switch {
		case !some:
			paid[i] = s.job.Minutes
		case changes(s):
			paid[i] = 1
		}
	}
	minutes, cost := wear.Apportion(int64(req.Minutes), long), wear.Apportion(req.Cost, paid)
	for i := range signings {
		signings[i].req.Minutes, signings[i].req.Cost = int(minutes[i]), cost[i]
	}
}

type signing struct {
	req  SignOffRequest
	job  wear.Job
	part wear.Part
}

func signOff(tx *store.Tx, bike wear.Bike, at wear.Instant, s signing) (SignedJob, error) {
	done := SignedJob{Job: s.job, Part: s.part, At: at}
	fact := wear.SignOff{
		Part: s.part.ID, Bike: bike.ID, At: at, Job: s.job.Name, By: plainText(s.req.By), Torque: s.req.Torque,
		Cost: s.req.Cost, Minutes: s.req.Minutes, Note: plainText(s.req.Note), Declined: s.req.Declined, Witness: s.req.Witness,
	}
	if s.req.Witness && s.job.Act != wear.ActCheck {
		return done, mistake("sign it off without --witness-mark", "job %q: a witness mark tells of a torque check only", s.job.Name)
	}
	if s.job.Act == wear.ActChange && !s.req.Declined {
		cause := s.req.Cause
		if cause == "" {
			cause = string(wear.Worn)
		}
		res, err := fit(tx, bike, at, FitRequest{
			Kind: s.part.Kind, New: successor(s.part, s.req.New), Used: Nothing(), Old: cause,
		})
		if err != nil {
			return done, err
		}
		done.Fitted, fact.Fitted = &res.Part, res.Part.ID
	} else if err := stillUnsafe(tx, &done); err != nil {
		return done, err
	}
	_, err := tx.AddSignOff(fact)
	return done, err
}

// stillUnsafe finds the look that says unsafe, where it is the part's last.
func stillUnsafe(tx *store.Tx, s *SignedJob) error {
	looks, err := tx.Looks(s.Part.ID)
	if err != nil {
		return err
	}
	for i := range looks {
		if l := looks[i]; !l.Void && l.At <= s.At {
			s.Unsafe = nil
			if l.Word == wear.Unsafe {
				s.Unsafe = &l
			}
		}
	}
	return nil
}

// successor is the new part: as the old one was, but for what was said.
func successor(old, said wear.Part) wear.Part {
	p := wear.Part{
		Kind: old.Kind, Model: old.Model, Teeth: old.Teeth, Cogs: old.Cogs, Material: old.Material,
		Speeds: old.Speeds, Narrow: old.Narrow, Treated: old.Treated, Stamp: old.Stamp,
	}
	if said.Model != "" {
		p.Model = said.Model
	}
	if said.Teeth != 0 {
		p.Teeth = said.Teeth
	}
	if said.Cogs != nil {
		p.Cogs = said.Cogs
	}
	if said.Material != "" {
		p.Material = said.Material
	}
	if said.Speeds != 0 {
		p.Speeds = said.Speeds
	}
	if said.Treated != "" {
		p.Treated = said.Treated
	}
	if said.Stamp != 0 {
		p.Stamp = said.Stamp
	}
	p.Narrow = p.Narrow || said.Narrow
	return p
}

// change is the job of every part that the schedule gives none: any part can
// be changed.
var change = wear.Job{Name: "change", Act: wear.ActChange, Title: "change it"}

// findJob finds the job that "kind:job", "part:job", a kind with one job, or a
// job that only one kind of the bike has, names.
func findJob(parts []wear.Part, name string) (wear.Job, wear.Part, error) {
	who, what, both := strings.Cut(name, ":")
	var jobs []wear.Job
	var owners []wear.Part
	for _, p := range parts {
		kind, ok := wear.Default().Kind(p.Kind)
		if !ok {
			continue
		}
		for _, j := range kind.Jobs {
			mine := p.Kind == who || p.Name == who
			if both && mine && j.Name == what || !both && (mine || j.Name == name) {
				jobs, owners = append(jobs, j), append(owners, p)
			}
		}
		if _, has := kind.Job(change.Name); !has && (p.Kind == who || p.Name == who) && what == change.Name {
			jobs, owners = append(jobs, change), append(owners, p)
		}
	}
	if len(jobs) == 1 {
		return jobs[0], owners[0], nil
	}
	return wear.Job{}, wear.Part{}, jobProblem(parts, name, jobs, owners)
}

func jobProblem(parts []wear.Part, name string, jobs []wear.Job, owners []wear.Part) error {
	if len(jobs) > 1 {
		var could []string
		for i, j := range jobs {
			could = append(could, owners[i].Kind+":"+j.Name)
		}
		return mistake("say which: "+strings.Join(could, ", "), "job %q: could be %d jobs of this bike", name, len(jobs))
	}
	var all []string
	for _, p := range parts {
		if kind, ok := wear.Default().Kind(p.Kind); ok {
			for _, j := range kind.Jobs {
				all = append(all, p.Kind+":"+j.Name)
			}
		}
	}
	tip := "pawl due BIKE --all lists the jobs of a bike"
	if near := wear.Nearest(name, all); near != "" {
		tip = "did you mean " + near + "?"
	}
	return mistake(tip, "job %q: no such job on this bike", name)
}

// Undo takes back the newest entry that still stands; all batches of an import, or
// of a list of bikes, are one.
func (d *Desk) Undo(ctx context.Context) (e store.Entry, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		tx.Begin("undo", "", d.Who)
		if e, err = tx.Undo(); err != nil {
			return err
		}
		for slices.Contains(batched, e.Verb) {
			next, err := newest(tx)
			if err != nil || next.Verb != e.Verb || next.At != e.At || next.Target != e.Target {
				return err
			}
			if _, err := tx.Undo(); err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, store.ErrNothingToUndo) {
		err = refusal("pawl history shows what was entered", "%v", err)
	}
	return e, err
}

// batched are the verbs of entries of which one command makes many.
var batched = []string{importVerb, fleetVerb, bikesVerb}

// newest is the newest entry that still stands, zero where there is none.
func newest(tx *store.Tx) (store.Entry, error) {
	for e, err := range tx.Entries(true) {
		if err != nil || e.Undoes == 0 && e.Undone == 0 {
			return e, err
		}
	}
	return store.Entry{}, nil
}
