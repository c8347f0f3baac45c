package fleetrig

import (
	"fmt"

	"pawl/store"
	"pawl/wear"
)

// parts are what a bike has on the day it comes, the wheel before what sits on it.
var parts = []wear.Part{
	{Kind: "frame"}, {Kind: "chain", Speeds: 12}, {Kind: "ring", Teeth: 32, Narrow: true, Speeds: 12},
	{Kind: "guide"}, {Kind: "guide-bolts"}, {Kind: "idler", Teeth: 14}, {Kind: "ring-bolts"}, {Kind: "crank-bolt"},
	{Kind: "derailleur-pulleys", Teeth: 14}, {Kind: "rear-wheel"},
	{Kind: "cassette", Speeds: 12, Cogs: []int{10, 12, 14, 16, 18, 21, 24, 28, 33, 39, 45, 51}},
	{Kind: "rear-tyre"}, {Kind: "front-pads", Material: "organic"}, {Kind: "rear-pads", Material: "sintered"},
}

// addBike enters a bike with its parts.
func (f *fleet) addBike(tx *store.Tx, n int) error {
	added, err := tx.AddBike(wear.Bike{
		Name: Name(n), Fleet: true, Guide: true, Wheel: 2.326, Speeds: 12, Mass: 15, Added: wear.At(Begin),
		Depot: fmt.Sprintf("depot %d", 1+n%5), Tags: []string{"trail"}, Price: 4500,
	})
	if err != nil {
		return err
	}
	f.bikes[n] = bike{id: added.ID, parts: map[string]wear.Part{}, since: map[string]wear.Stay{}}
	for _, p := range parts {
		if p.Kind == "chain" || p.Kind == "cassette" || p.Kind == "ring" {
			p.Model = model(p.Kind, n)
		}
		if err := f.fit(tx, n, p, wear.Ever); err != nil {
			return err
		}
	}
	return nil
}

// fit puts a new part on a bike, or on its wheel.
func (f *fleet) fit(tx *store.Tx, n int, p wear.Part, at wear.Instant) error {
	b := &f.bikes[n]
	p, err := tx.AddPart(p)
	if err != nil {
		return err
	}
	s := wear.Stay{Part: p.ID, Host: b.id, From: at, To: wear.Never, Came: at == wear.Ever}
	if wheel, carried := wear.CarriedBy(p.Kind); carried {
		s.Host = b.parts[wheel].ID
	}
	b.parts[p.Kind], b.since[p.Kind] = p, s
	return tx.AddStay(s)
}

// change takes a worn part off and puts another in its place.
func (f *fleet) change(tx *store.Tx, n int, kind string, at wear.Instant) error {
	b := &f.bikes[n]
	old, stay := b.parts[kind], b.since[kind]
	ended := stay
	ended.To = at
	if err := tx.ChangeStay(stay, ended); err != nil {
		return err
	}
	fresh := old
	fresh.ID, fresh.Name, fresh.End = 0, "", nil
	old.End = &wear.End{At: at, Cause: wear.Worn}
	if err := tx.ChangePart(old); err != nil {
		return err
	}
	if err := f.fit(tx, n, fresh, at); err != nil {
		return err
	}
	_, err := tx.AddSignOff(wear.SignOff{
		Part: old.ID, Bike: b.id, At: at, Job: "change", By: "Ada", Cost: 3200, Minutes: 15, Fitted: b.parts[kind].ID,
	})
	return err
}
