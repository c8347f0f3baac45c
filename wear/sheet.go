package wear

import (
	"embed"
	"errors"
	"fmt"
	"slices"
	"strings"
)

//go:embed sheets/*.toml
var sheetFiles embed.FS

// Sheet is what a bike is made of on the day it comes.
type Sheet struct {
	Name  string
	Title string
	Bike  Bike              // only the figures that a sheet gives
	Parts []Part            // without ID and name, in the order of the sheet but wheels before what they carry
	On    map[string]string // kind of a part -> kind of the wheel that carries it; the others sit on the bike
}

// Dress gives a bike the sheet's figures where it has none of its own.
func (s Sheet) Dress(b Bike) Bike {
	b.Sheet = s.Name
	fill(&b.Mass, s.Bike.Mass)
	fill(&b.RiderMass, s.Bike.RiderMass)
	fill(&b.Wheel, s.Bike.Wheel)
	fill(&b.Crr, s.Bike.Crr)
	fill(&b.CdA, s.Bike.CdA)
	fill(&b.Motor, s.Bike.Motor)
	fill(&b.Speeds, s.Bike.Speeds)
	fill(&b.Guide, s.Bike.Guide)
	return b
}

func fill[T comparable](to *T, from T) {
	var zero T
	if *to == zero {
		*to = from
	}
}

// Sheets lists the build sheets that pawl ships, by name.
func Sheets() []Sheet {
	files, err := sheetFiles.ReadDir("sheets")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	var list []Sheet
	for _, f := range files {
		if s, ok := SheetByName(strings.TrimSuffix(f.Name(), ".toml")); ok {
			list = append(list, s)
		}
	}
	return list
}

// SheetByName returns the shipped build sheet of that name.
func SheetByName(name string) (Sheet, bool) {
	b, err := sheetFiles.ReadFile("sheets/" + name + ".toml")
	if err != nil {
		return Sheet{}, false
	}
	s, err := ParseSheet(b)
	if err != nil {
		panic(err) // the file is part of the program and every test reads it
	}
	return s, true
}

type rawSheet struct {
	Name  string    `toml:"name"`
	Title string    `toml:"title"`
	Bike  rawBike   `toml:"bike"`
	Part  []rawPart `toml:"part"`
}

type rawBike struct {
	Mass      float64 `toml:"mass"`
	RiderMass float64 `toml:"rider_mass"`
	Wheel     float64 `toml:"wheel"`
	Crr       float64 `toml:"crr"`
	CdA       float64 `toml:"cda"`
	Motor     string  `toml:"motor"`
	Speeds    int     `toml:"speeds"`
	Guide     bool    `toml:"guide"`
}

type rawPart struct {
	Kind     string  `toml:"kind"`
	On       string  `toml:"on"`
	Model    string  `toml:"model"`
	Teeth    int     `toml:"teeth"`
	Cogs     []int   `toml:"cogs"`
	Material string  `toml:"material"`
	Speeds   int     `toml:"speeds"`
	Narrow   bool    `toml:"narrow"`
	Treated  string  `toml:"treated"`
	Stamp    float64 `toml:"stamp"`
	Note     string  `toml:"note"`
}

// ParseSheet reads a build sheet from TOML. Errors give line and column, or
// the part, of what is wrong.
func ParseSheet(b []byte) (Sheet, error) {
	var raw rawSheet
	if err := decodeStrict(b, "sheet", &raw); err != nil {
		return Sheet{}, err
	}
	bike, err := raw.Bike.bike()
	if err != nil {
		return Sheet{}, fmt.Errorf("bike: %w", err)
	}
	s := Sheet{Name: raw.Name, Title: raw.Title, Bike: bike}
	if s.Name == "" {
		return s, errors.New("sheet has no name: write name = \"…\" at its top")
	}
	for i := range raw.Part {
		if err := s.add(&raw, &raw.Part[i]); err != nil {
			return s, fmt.Errorf("part %d (%s): %w", i+1, raw.Part[i].Kind, err)
		}
	}
	if len(s.Parts) == 0 {
		return s, errors.New("sheet has no parts: write a [[part]] with its kind for each")
	}
	slices.SortStableFunc(s.Parts, func(x, y Part) int { return boolInt(s.On[x.Kind] != "") - boolInt(s.On[y.Kind] != "") })
	return s, nil
}

// add puts one part into the sheet.
func (s *Sheet) add(raw *rawSheet, r *rawPart) error {
	p, err := r.part()
	if err != nil {
		return err
	}
	if slices.ContainsFunc(s.Parts, func(o Part) bool { return o.Kind == p.Kind }) {
		return errors.New("the sheet has one already")
	}
	s.Parts = append(s.Parts, p)
	if r.On == "" {
		return nil
	}
	if s.On == nil {
		s.On = map[string]string{}
	}
	s.On[p.Kind] = r.On
	return raw.checkOn(r)
}

// checkOn refuses a part on what does not carry it, or on a wheel that the
// sheet has not.
func (raw *rawSheet) checkOn(r *rawPart) error {
	wheel, ok := CarriedBy(r.Kind)
	switch {
	case !ok:
		return fmt.Errorf("on %q: such a part sits on the bike itself", r.On)
	case wheel != r.On:
		return fmt.Errorf("on %q: such a part sits on the %s", r.On, wheel)
	case !slices.ContainsFunc(raw.Part, func(o rawPart) bool { return o.Kind == wheel }):
		return fmt.Errorf("on %q: the sheet has no such wheel: add a [[part]] of that kind", r.On)
	}
	return nil
}

func (r rawBike) bike() (Bike, error) {
	b := Bike{Mass: r.Mass, RiderMass: r.RiderMass, Wheel: r.Wheel, Crr: r.Crr, CdA: r.CdA, Speeds: r.Speeds, Guide: r.Guide}
	motor, err := ParseMotor(r.Motor)
	b.Motor = motor
	if err != nil {
		return b, err
	}
	for _, v := range []struct {
		name        string
		v, from, to float64
	}{
		{"mass", r.Mass, 5, 60}, {"rider_mass", r.RiderMass, 20, 250}, {"wheel", r.Wheel, 0.8, 3},
		{"crr", r.Crr, 0.002, 0.2}, {"cda", r.CdA, 0.1, 2}, {"speeds", float64(r.Speeds), 1, 14},
	} {
		if v.v != 0 && !(v.v >= v.from && v.v <= v.to) {
			return b, fmt.Errorf("%s %g: not between %g and %g", v.name, v.v, v.from, v.to)
		}
	}
	return b, nil
}

func (r rawPart) part() (Part, error) {
	p := Part{Kind: r.Kind, Model: r.Model, Teeth: r.Teeth, Cogs: r.Cogs, Material: r.Material,
		Speeds: r.Speeds, Narrow: r.Narrow, Treated: r.Treated, Stamp: r.Stamp, Note: r.Note}
	if err := p.Check(Default()); err != nil {
		return p, err
	}
	return p, nil
}
