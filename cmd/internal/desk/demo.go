package desk

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"pawl/ingest/rig"
	"pawl/store"
	"pawl/wear"
)

// DemoResult is the demo's throwaway book and what there is to see in it.
type DemoResult struct {
	Name        string
	Desk        *Desk
	Book, Files string // paths
	Day         string // the day on which the demo looks, for --today
	Bikes       int
	Rides       int
	Acts        int
	Due         DueResult
	Why         WhyResult
}

// Demo makes the season of an invented trail centre in a folder: ride files on
// disk, imported through the same door as anybody's, and what its workshop
// entered. Dir must be empty or not exist; "" is a new temporary folder.
func Demo(ctx context.Context, dir string, progress func(done, all int)) (DemoResult, error) {
	centre := rig.Season()
	dir, err := demoFolder(dir)
	if err != nil {
		return DemoResult{}, err
	}
	res := DemoResult{
		Name: centre.Name, Book: filepath.Join(dir, "demo.book"), Files: filepath.Join(dir, "rides"),
		Bikes: len(centre.Bikes), Acts: len(centre.Acts), Day: centre.Today.Format(dateForm),
	}
	res.Desk = Open(res.Book, centre.Zone, "pawl demo", centre.Today)
	if err := writeOutings(ctx, res.Files, centre.Outings, progress); err != nil {
		return res, err
	}
	for _, b := range centre.Bikes {
		if err := res.Desk.demoBike(ctx, b); err != nil {
			return res, err
		}
	}
	for _, o := range groups(centre.Outings) {
		req := ImportRequest{Bike: o.bike, Ground: &o.ground}
		for _, file := range o.files {
			req.Paths = append(req.Paths, filepath.Join(res.Files, filepath.FromSlash(file)))
		}
		r, err := res.Desk.Import(ctx, req)
		if err != nil {
			return res, err
		}
		res.Rides += r.Rides
	}
	if err := res.Desk.demoActs(ctx, centre.Acts); err != nil {
		return res, err
	}
	if res.Due, err = res.Desk.Due(ctx, nil, ""); err != nil {
		return res, err
	}
	res.Why, err = res.Desk.Why(ctx, Fact{Bike: "coach", Part: "chain"}, "", "")
	return res, err
}

func demoFolder(dir string) (string, error) {
	if dir == "" {
		return os.MkdirTemp("", "pawl-demo-")
	}
	entries, err := os.ReadDir(dir)
	if err != nil && !os.IsNotExist(err) {
		return "", err
	}
	if len(entries) > 0 {
		return "", refusal("name an empty folder, or one that does not exist yet", "folder %q: not empty", dir)
	}
	return dir, os.MkdirAll(dir, 0o755)
}

func writeOutings(ctx context.Context, dir string, outings []rig.Outing, progress func(done, all int)) error {
	for i, o := range outings {
		if err := ctx.Err(); err != nil {
			return err
		}
		path := filepath.Join(dir, filepath.FromSlash(o.File))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, o.Bytes(), 0o644); err != nil {
			return err
		}
		if progress != nil {
			progress(i+1, len(outings))
		}
	}
	return nil
}

// outingGroup are the outings of one bike on one ground: one import.
type outingGroup struct {
	bike   string
	ground wear.Ground
	files  []string
}

func groups(outings []rig.Outing) []*outingGroup {
	type key struct {
		bike   string
		ground wear.Ground
	}
	found := map[key]*outingGroup{}
	var list []*outingGroup
	for _, o := range outings {
		k := key{o.Bike, o.Ground}
		if found[k] == nil {
			found[k] = &outingGroup{bike: o.Bike, ground: o.Ground}
			list = append(list, found[k])
		}
		found[k].files = append(found[k].files, o.File)
	}
	return list
}

func (d *Desk) demoBike(ctx context.Context, b rig.CentreBike) error {
	sheet, ok := wear.SheetByName(b.Bike.Sheet)
	if !ok {
		return fmt.Errorf("sheet %q: not shipped", b.Bike.Sheet)
	}
	_, _, err := d.AddBike(ctx, BikeRequest{
		Bike: b.Bike, Sheet: sheet, Used: Nothing(),
		Parts: map[string]wear.Part{
			"ring": {Teeth: b.Ring}, "cassette": {Cogs: b.Cogs, Speeds: len(b.Cogs)}, "chain": {Speeds: len(b.Cogs)},
		},
	})
	return err
}

// demoActs enters what the workshop did, each act an entry of its own.
func (d *Desk) demoActs(ctx context.Context, acts []rig.Act) error {
	return d.Book.Update(ctx, func(tx *store.Tx) error {
		for _, a := range acts {
			if err := d.demoAct(tx, a); err != nil {
				return fmt.Errorf("%s %s: %w", a.Bike, a.Kind, err)
			}
		}
		return nil
	})
}

func (d *Desk) demoAct(tx *store.Tx, a rig.Act) error {
	at := a.At.Time().Format("2006-01-02T15:04:05Z")
	if a.SignOff != nil {
		s := a.SignOff
		req := SignOffRequest{
			Bike: a.Bike, Jobs: []string{a.Kind + ":" + s.Job}, On: at, By: s.By, Note: s.Note,
			Torque: s.Torque, Cost: s.Cost, Minutes: s.Minutes,
		}
		if a.Fits != nil {
			req.New = *a.Fits
		}
		tx.Begin("signoff", req.Bike+" "+strings.Join(req.Jobs, " "), d.Who)
		_, err := d.signOff(tx, req)
		return err
	}
	bike, part, when, err := d.bikePartAndDay(tx, Fact{Bike: a.Bike, Part: a.Kind, On: at})
	if err != nil {
		return err
	}
	if a.Look != nil {
		l := *a.Look
		l.Part, l.Bike, l.At = part.ID, bike.ID, when
		tx.Begin("look", bike.Name+" "+part.Name, d.Who)
		_, err = tx.AddLook(l)
		return err
	}
	r := *a.Reading
	r.Part, r.Bike, r.At = part.ID, bike.ID, when
	tx.Begin("measure", bike.Name+" "+part.Name, d.Who)
	_, err = tx.AddReading(r)
	return err
}
