package store_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

func TestEventRefusals(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, chain := filled(t, b, 2)
	at := madeRide(1).Start
	tests := []struct {
		name, want string
		do         func(*store.Tx) error
	}{
		{"what happened", `incident "tea": not a thing that happens`, func(tx *store.Tx) error {
			_, err := tx.AddIncident(wear.Incident{Bike: bike, At: at, What: "tea"})
			return err
		}},
		{"to no bike", `bike "0": not in the book`, func(tx *store.Tx) error {
			_, err := tx.AddIncident(wear.Incident{Part: chain, At: at, What: wear.Crashed})
			return err
		}},
		{"to no part", `part "7": not in the book`, func(tx *store.Tx) error {
			_, err := tx.AddIncident(wear.Incident{Bike: bike, Part: 7, At: at, What: wear.Crashed})
			return err
		}},
		{"when", "dated before 1900", func(tx *store.Tx) error {
			_, err := tx.AddIncident(wear.Incident{Bike: bike, At: wear.Ever, What: wear.Crashed})
			return err
		}},
		{"standing", `standing "on loan": not known`, func(tx *store.Tx) error {
			_, err := tx.AddStatus(wear.Status{Bike: bike, At: at, Is: "on loan"})
			return err
		}},
		{"standing ends first", `standing "in service": would end before it begins`, func(tx *store.Tx) error {
			_, err := tx.AddStatus(wear.Status{Bike: bike, At: at, Is: wear.InService, Until: at})
			return err
		}},
		{"odometer below zero", `odometer of "Ridge": -1 m, climb 0 m, 0 min: absurd`, func(tx *store.Tx) error {
			_, err := tx.AddOdometer(wear.Odometer{Bike: bike, At: at, Metres: -1})
			return err
		}},
		{"guide set-up that cannot be", `guide set-up of "Ridge": chain line in mm 520: not between 35 and 75`, func(tx *store.Tx) error {
			_, err := tx.AddSetup(wear.GuideSetup{Bike: bike, At: at, ChainLine: 520})
			return err
		}},
		{"guide set-up of no bike", `bike "9": not in the book`, func(tx *store.Tx) error {
			_, err := tx.AddSetup(wear.GuideSetup{Bike: 9, At: at})
			return err
		}},
		{"void of no set-up", `guide set-up "9": not in the book`, func(tx *store.Tx) error { return tx.VoidSetup(bike, 9) }},
		{"odometer that is not there", `odometer reading "9": not in the book`, func(tx *store.Tx) error {
			return tx.ChangeOdometer(wear.Odometer{ID: 9, Bike: bike, At: at})
		}},
		{"void of nothing", `incident "9": not in the book`, func(tx *store.Tx) error { return tx.VoidIncident(bike, 9) }},
		{"void of no setting", `setting "9": not in the book`, func(tx *store.Tx) error { return tx.VoidSetting(9) }},
		{"scope", `setting "ground": is for a "world"`, func(tx *store.Tx) error {
			_, err := tx.AddSetting(wear.Setting{Name: wear.SettingGround, Scope: "world"})
			return err
		}},
		{"kind without one", "does not say what it is and which kind", func(tx *store.Tx) error {
			_, err := tx.AddSetting(wear.Setting{Name: wear.SettingSchedule, Scope: wear.ForKind})
			return err
		}},
		{"book with a bike", "does not say what it is and which book", func(tx *store.Tx) error {
			_, err := tx.AddSetting(wear.Setting{Name: wear.SettingSchedule, Scope: wear.ForBook, Of: bike})
			return err
		}},
		{"no such bike", `bike "3": not in the book`, func(tx *store.Tx) error {
			_, err := tx.AddSetting(wear.Setting{Name: wear.SettingSchedule, Scope: wear.ForBike, Of: 3})
			return err
		}},
		{"a part as a bike", "not in the book", func(tx *store.Tx) error {
			_, err := tx.AddSetting(wear.Setting{Name: wear.SettingSchedule, Scope: wear.ForBike, Of: chain})
			return err
		}},
		{"mark of a ride", "mark is not known", func(tx *store.Tx) error {
			r := madeRide(8)
			r.Uplift = wear.NoUplift + 1
			_, err := tx.AddRide(r, wear.Gears{})
			return err
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			require.ErrorContains(t, b.Update(context.Background(), func(tx *store.Tx) error {
				tx.Begin("test", "", "")
				return tt.do(tx)
			}), tt.want)
		})
	}
}

// TestIncidentsBeginSpans, so that what was ridden since a crash is a sum of them,
// also after it was taken back, and undone.
func TestIncidentsBeginSpans(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, chain := filled(t, b, 20)
	var crash wear.Incident
	update(t, b, func(tx *store.Tx) {
		var err error
		crash, err = tx.AddIncident(wear.Incident{Bike: bike, At: madeRide(12).Start, What: wear.Crashed, Note: "over the bars"})
		require.NoError(t, err)
		_, err = tx.AddIncident(wear.Incident{Bike: bike, Part: chain, At: madeRide(4).Start + 1, What: wear.Dropped})
		require.NoError(t, err)
		_, err = tx.AddIncident(wear.Incident{Bike: bike, At: madeRide(18).Start, What: wear.Struck})
		require.NoError(t, err)
	})
	since := func(want, incidents int) {
		t.Helper()
		view(t, b, func(tx *store.Tx) {
			c, err := tx.Case(bike, madeRide(16).Start)
			require.NoError(t, err)
			assert.EqualValues(t, want, over(c.Lines[bike], crash.At, wear.Never).All().Rides)
			assert.Len(t, c.Incidents, incidents, "the last one is not known yet")
		})
	}
	since(5, 2) // rides 12 to 16
	update(t, b, func(tx *store.Tx) { require.NoError(t, tx.VoidIncident(bike, crash.ID)) })
	since(5, 1)
	view(t, b, func(tx *store.Tx) {
		all, err := tx.Incidents(bike)
		require.NoError(t, err)
		require.Len(t, all, 3)
		assert.True(t, all[1].Void)
		assert.Equal(t, "over the bars", all[1].Note)
	})
	for range 2 {
		require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error { _, err := tx.Undo(); return err }))
	}
	view(t, b, func(tx *store.Tx) {
		c, err := tx.Case(bike, wear.Never)
		require.NoError(t, err)
		assert.Len(t, c.Lines[bike], 1)
	})
}

// TestSettingsThatHold for a bike: the widest scope first, then the oldest; those
// of a family hold for its kinds.
func TestSettingsThatHold(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := filled(t, b, 1)
	other := twoBikesMore(t, b)
	at := madeRide(1).Start
	update(t, b, func(tx *store.Tx) {
		p, err := tx.AddPart(wear.Part{Kind: "rear-pads", Model: "Bite 2"})
		require.NoError(t, err)
		require.NoError(t, tx.AddStay(wear.Stay{Part: p.ID, Host: bike, From: wear.Ever, To: wear.Never}))
		for _, s := range []wear.Setting{
			{Scope: wear.ForPart, Of: p.ID, At: at, Text: "5"},
			{Scope: wear.ForBike, Of: bike, At: at, Text: "4"},
			{Scope: wear.ForBike, Of: other, At: at, Text: "another bike's"},
			{Scope: wear.ForModel, Key: "bite 2", At: at, Text: "3"},
			{Scope: wear.ForModel, Key: "Bite", At: at, Text: "another model's"},
			{Scope: wear.ForKind, Key: "rear-pads", At: at - 5, Text: "2c"},
			{Scope: wear.ForKind, Key: "pads", At: at - 6, Text: "2b"},
			{Scope: wear.ForKind, Key: "chain", At: wear.Ever, Text: "2a"},
			{Scope: wear.ForKind, Key: "front-pads", At: at, Text: "another kind's"},
			{Scope: wear.ForKind, Key: "rear-pads-2", At: at, Text: "another kind's"},
			{Scope: wear.ForBook, At: at, Text: "1"},
			{Scope: wear.ForBook, At: at + 1, Text: "tomorrow's"},
		} {
			s.Name = wear.SettingSchedule
			_, err := tx.AddSetting(s)
			require.NoError(t, err)
		}
	})
	view(t, b, func(tx *store.Tx) {
		c, err := tx.Case(bike, at)
		require.NoError(t, err)
		var texts []string
		for _, s := range c.Settings {
			texts = append(texts, s.Text)
		}
		assert.Equal(t, []string{"1", "2a", "2b", "2c", "3", "4", "5"}, texts)
		all, err := tx.Settings()
		require.NoError(t, err)
		assert.Len(t, all, 12)
		assert.Equal(t, "tomorrow's", all[1].Text)
	})
}

// TestSetupsAreKept with every field, through voiding, undo and the audit.
func TestSetupsAreKept(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := filled(t, b, 2)
	angle, offset := -2.5, 0.0
	g := wear.GuideSetup{
		Bike: bike, At: madeRide(1).Start, Mount: wear.ISCG05, Spacers: []float64{1, 0, 1.5}, Torques: []float64{8, 8, 7.9},
		ChainLine: 52.3, Angle: &angle, Lower: "second hole", Ring: 32,
		Lot: &wear.ParkingLot{Shifts: wear.Passed, NoRub: wear.Failed},
		Drive: wear.Drive{
			Spacing: 148, Chainstay: 435, RingMount: "104/4", Offset: &offset, MakerLine: 52, GuideLeast: 28, GuideMost: 36,
			FrameMost: 36, Pitches: 126, CogSpacing: 3.65, CassetteLine: 49,
		},
		By: "Kim", Note: "with new bolts",
	}
	holds := func(want ...wear.GuideSetup) {
		t.Helper()
		view(t, b, func(tx *store.Tx) {
			all, err := tx.Setups(bike)
			require.NoError(t, err)
			assert.Equal(t, want, all)
		})
		storetest.Check(t, b)
	}
	first := wear.GuideSetup{Bike: bike, At: madeRide(0).Start, Lot: &wear.ParkingLot{}}
	update(t, b, func(tx *store.Tx) {
		var err error
		g, err = tx.AddSetup(g)
		require.NoError(t, err)
	})
	assert.NotZero(t, g.ID)
	holds(g)
	update(t, b, func(tx *store.Tx) {
		var err error
		first, err = tx.AddSetup(first)
		require.NoError(t, err)
	})
	holds(first, g)
	update(t, b, func(tx *store.Tx) { require.NoError(t, tx.VoidSetup(bike, g.ID)) })
	void := g
	void.Void = true
	holds(first, void)
	for _, want := range [][]wear.GuideSetup{{first, g}, {g}, nil} {
		require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error { _, err := tx.Undo(); return err }))
		holds(want...)
	}
}
