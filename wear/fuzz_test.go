package wear

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whatever a schedule, a file of overrides or a build sheet holds, it is read
// or refused with words, and what is read can be assessed and says itself.
func FuzzSchedule(f *testing.F) {
	f.Add(defaultSchedule)
	f.Add([]byte(aFile))
	f.Add([]byte(chainAt("0.6", `bike = "enduro"`)))
	for _, name := range []string{"trail", "e-trail", "hardtail", "rigid"} {
		b, err := os.ReadFile("sheets/" + name + ".toml")
		require.NoError(f, err)
		f.Add(b)
	}
	f.Add([]byte("lead_days=1\nmissed_hours=1\nfleet_times=2\n[assumed]\nring=32\nidler=14\npulley=12\nbusy_cog=18\nbusy_share=0.2\n"))
	c := fullBike(&testing.T{}).build()
	f.Fuzz(func(t *testing.T, b []byte) {
		if s, err := ParseSchedule(b, "f.toml"); err != nil {
			require.NotEmpty(t, err.Error())
		} else {
			InForce(nil, s)
			Assess(c, s)
		}
		fuzzOverrides(t, c, b)
		if s, err := ParseSheet(b); err == nil {
			for _, p := range s.Parts {
				require.NoError(t, p.Check(Default()))
				if wheel := s.On[p.Kind]; wheel != "" {
					require.True(t, Carries(wheel))
				}
			}
		}
	})
}

// fuzzOverrides holds that each setting reads back as it was and can be put in
// force, alone and with the others.
func fuzzOverrides(t *testing.T, c Case, b []byte) {
	list, err := ParseOverrides(b, "f.toml")
	if err != nil {
		require.NotEmpty(t, err.Error())
		return
	}
	for i := range list {
		s := &list[i]
		again, err := ParseOverrides([]byte(s.Text), "f.toml")
		require.NoError(t, err, s.Text)
		require.Len(t, again, 1)
		require.Equal(t, s.Text, again[0].Text)
		s.ID, s.At = uint64(i), c.Today-Day
		switch s.Scope {
		case ForBike:
			s.Of = c.Bike.ID
		case ForPart:
			s.Of = c.Parts[i%len(c.Parts)].Part.ID
		}
	}
	c.Settings = list
	for _, f := range Assess(c, Default()) {
		require.NotEmpty(t, f.Source)
		require.False(t, f.Share != f.Share, "%s %s: a share that is no figure", f.Part, f.Job)
	}
	require.GreaterOrEqual(t, len(InForce(list, Default())), len(list))
}
