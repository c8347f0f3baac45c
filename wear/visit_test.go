package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// planned is a finding of the bike of these tests.
func planned(part ID, kind, job string, act Act, v Verdict) Finding {
	return Finding{Bike: "enduro", BikeID: bikeID, Part: kind + "-1", PartID: part, Kind: kind, Job: job, Act: act, Verdict: v, Minutes: 10}
}

func TestPlanVisitTakesWhatIsUpByThen(t *testing.T) {
	by := func(day float64) Finding {
		f, at := planned(1, "cable", "change", ActChange, Fine), days(day)
		f.Date.P50 = &at
		return f
	}
	elsewhere := planned(1, "cable", "change", ActChange, Stop)
	elsewhere.BikeID = 2
	for name, c := range map[string]struct {
		f    Finding
		want bool
	}{
		"stop":                         {planned(1, "cable", "change", ActChange, Stop), true},
		"due":                          {planned(1, "cable", "change", ActChange, Due), true},
		"to be ordered":                {planned(1, "cable", "change", ActChange, Order), true},
		"fine, no date":                {planned(1, "cable", "change", ActChange, Fine), false},
		"fine, due before":             {by(9), true},
		"fine, due at the end of then": {by(10), true},
		"fine, due after":              {by(10.001), false},
		"of another bike":              {elsewhere, false},
	} {
		t.Run(name, func(t *testing.T) {
			plan := PlanVisit(Visit{Bike: bikeID, At: days(10)}, []Finding{c.f})
			assert.Equal(t, days(10), plan.At)
			if !c.want {
				assert.Empty(t, plan.Findings)
				assert.Empty(t, plan.Parts)
				assert.Zero(t, plan.Minutes)
				return
			}
			assert.Equal(t, VisitPlan{Bike: "enduro", At: days(10), Findings: []Finding{c.f}, Minutes: 10, Parts: []string{"cable"}}, plan)
		})
	}
	assert.Equal(t, "enduro", PlanVisit(Visit{Bike: bikeID}, []Finding{by(9)}).Bike, "named though there is nothing to do")
	assert.Empty(t, PlanVisit(Visit{Bike: bikeID}, nil).Bike)
}

func TestPlanVisitMinutesAndParts(t *testing.T) {
	fork := func(v Verdict) Finding { return planned(2, "fork", "lowers", ActService, v) }
	for name, c := range map[string]struct {
		fs      []Finding
		minutes int
		parts   []string
	}{
		"a service takes no part":        {[]Finding{fork(Due)}, 10, nil},
		"unless to be ordered":           {[]Finding{fork(Order)}, 10, []string{"fork"}},
		"what another includes is free":  {[]Finding{fork(Due), planned(2, "fork", "service", ActService, Due)}, 10, nil},
		"but not of another fork":        {[]Finding{fork(Due), planned(3, "fork", "service", ActService, Due)}, 20, nil},
		"one entry a part":               {[]Finding{planned(1, "chain", "change", ActChange, Due), planned(1, "chain", "measure", ActMeasure, Order)}, 20, []string{"chain"}},
		"two parts of a kind":            {[]Finding{planned(1, "cable", "change", ActChange, Due), planned(2, "cable", "change", ActChange, Due)}, 20, []string{"cable", "cable"}},
		"in working order":               {[]Finding{planned(1, "rear-tyre", "change", ActChange, Due), planned(2, "chain", "change", ActChange, Due)}, 20, []string{"chain", "rear-tyre"}},
		"of a kind that is not known":    {[]Finding{planned(1, "bell", "change", ActChange, Due)}, 10, []string{"bell"}},
		"a look and a check take nought": {[]Finding{planned(1, "guide", "look", ActLook, Stop), planned(2, "axles", "check", ActCheck, Due)}, 20, nil},
	} {
		t.Run(name, func(t *testing.T) {
			plan := PlanVisit(Visit{Bike: bikeID}, c.fs)
			assert.Len(t, plan.Findings, len(c.fs))
			assert.Equal(t, c.minutes, plan.Minutes)
			assert.Equal(t, c.parts, plan.Parts)
		})
	}
}

// The minutes are those of the schedule, and what the assessor spared is not
// planned: a chain that is to be changed is not measured first.
func TestPlanVisitOfABikeAsAssessed(t *testing.T) {
	w := newWorld(t, 60)
	chain := w.fit("chain", days(0))
	w.fit("fork", days(0))
	w.read(chain, 5, 0.6)
	w.ride(6, Mud, hours(110))
	fs := Assess(w.build(), Default())
	require.Equal(t, Due, w.judged("chain", "change").Verdict)
	require.Equal(t, Fine, w.judged("chain", "measure").Verdict)
	require.NotNil(t, w.judged("chain", "measure").Date.P50)

	plan := PlanVisit(Visit{Bike: bikeID, At: w.today}, fs)
	jobs, sum := []string{}, 0
	for _, f := range plan.Findings {
		jobs = append(jobs, f.Kind+" "+f.Job)
		sum += f.Minutes
	}
	assert.Equal(t, []string{"fork lowers", "fork service", "chain change", "chain clean"}, jobs)
	lowers, _ := Default().kind("fork").Job("lowers")
	assert.Equal(t, sum-lowers.Minutes, plan.Minutes, "a service does the lowers as well")
	assert.Positive(t, plan.Minutes)
	assert.Equal(t, []string{"chain"}, plan.Parts)
}
