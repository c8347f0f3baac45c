package main

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"go.etcd.io/bbolt"

	"pawl/ingest/rig"
	"pawl/wear"
)

// The moment at which pawl runs in script tests, unless a script sets NOW.
const scriptNow = "2026-11-01T12:00:00Z"

func TestMain(m *testing.M) {
	testscript.Main(tidy{m}, map[string]func(){"pawl": func() {
		machine := system()
		machine.now = scriptTime(os.Getenv("NOW"))
		machine.clock = func() time.Time { return machine.now }
		ctx, cancel := interruptible()
		defer cancel()
		os.Exit(exitCode(run(ctx, os.Args[1:], machine), os.Stderr))
	}, hastyProgram: hasty})
}

func scriptTime(text string) time.Time {
	if text == "" {
		text = scriptNow
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		panic(err) // a script sets a time that is none
	}
	return t
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "../../testdata/script",
		RequireExplicitExec: true,
		UpdateScripts:       os.Getenv("UPDATE") != "",
		Setup: func(env *testscript.Env) error {
			env.Setenv("PAWL_BOOK", env.WorkDir+"/the.book")
			env.Setenv("TZ", "UTC")
			// Under the race detector a process waits a second before it ends, for what
			// may still run; hundreds of them are started here.
			env.Setenv("GORACE", "atexit_sleep_ms=0")
			env.Setenv("NO_COLOR", "1")
			data, err := filepath.Abs("../../testdata")
			env.Setenv("TESTDATA", data)
			return err
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"rig":    scriptRig,
			"cut":    scriptCut,
			"poke":   scriptPoke,
			"bundle": scriptBundle,
			"large":  scriptLarge,
			"newer":  scriptNewer,
			"named":  scriptNamed,
		},
	})
}

// scriptRig makes a ride file: rig FILE [seed=1] [start=TIME] [minutes=60]
// [all] [cadence] [power] [odometer] [shifts] [indoor] [hills=25]
// [wheel=2.3] [serial=1] [profile=NAME] [sensor=TYPE:SERIAL]... [n=1]
// [every=24h]. With n, FILE has a %02d for the number of the ride.
func scriptRig(ts *testscript.TestScript, _ bool, words []string) {
	if len(words) == 0 {
		ts.Fatalf("usage: rig FILE [key=value]...")
	}
	spec := rigSpec{Spec: rig.Spec{Seed: 1, Minutes: 60}, every: 24 * time.Hour}
	for _, word := range words[1:] {
		ts.Check(rigOption(&spec, word))
	}
	for i := range max(spec.n, 1) {
		name := words[0]
		if spec.n > 0 {
			name = fmt.Sprintf(name, i)
		}
		ride := rig.Make(spec.Spec)
		data := ride.FIT()
		switch filepath.Ext(name) {
		case ".gpx":
			data = ride.GPX()
		case ".tcx":
			data = ride.TCX()
		}
		ts.Check(os.WriteFile(ts.MkAbs(name), data, 0o644))
		spec.Start, spec.Seed = spec.Start.Add(spec.every), spec.Seed+1
	}
}

// rigSpec is a number of rides, one every so often.
type rigSpec struct {
	rig.Spec
	n     int
	every time.Duration
}

func rigOption(s *rigSpec, word string) error {
	key, value, _ := strings.Cut(word, "=")
	var err error
	switch key {
	case "all":
		s.Cadence, s.Power, s.Odometer, s.Shifts = true, true, true, true
	case "cadence":
		s.Cadence = true
	case "power":
		s.Power = true
	case "odometer":
		s.Odometer = true
	case "indoor":
		s.Indoor = true
	case "seed":
		s.Seed, err = strconv.ParseUint(value, 10, 64)
	case "minutes":
		s.Minutes, err = strconv.ParseFloat(value, 64)
	case "diesat":
		s.DiesAt, err = strconv.ParseFloat(value, 64)
	case "uplifts":
		s.Uplifts, err = strconv.Atoi(value)
	case "wheel":
		s.Wheel, err = strconv.ParseFloat(value, 64)
	case "serial":
		var n uint64
		n, err = strconv.ParseUint(value, 10, 32)
		s.Serial = uint32(n)
	case "trail":
		s.Trail, err = strconv.ParseUint(value, 10, 64)
	case "profile":
		s.Profile = value
	case "sensor":
		var sensor wear.Sensor
		_, err = fmt.Sscanf(value, "%d:%d", &sensor.Type, &sensor.Serial)
		s.Sensors = append(s.Sensors, sensor)
	case "n":
		s.n, err = strconv.Atoi(value)
	case "every":
		s.every, err = time.ParseDuration(value)
	case "hills":
		s.Hills, err = strconv.ParseFloat(value, 64)
	case "start":
		s.Start, err = time.Parse(time.RFC3339, value)
	default:
		err = strconv.ErrSyntax
	}
	return err
}

// scriptNamed sets a variable to the name of the ride of a file, out of the list
// of rides in rides.json: named FILE VARIABLE
func scriptNamed(ts *testscript.TestScript, _ bool, words []string) {
	if len(words) != 2 {
		ts.Fatalf("usage: named FILE VARIABLE")
	}
	var list struct{ Rides []struct{ ID, File string } }
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("rides.json")), &list))
	for _, r := range list.Rides {
		if r.File == filepath.Base(words[0]) {
			ts.Setenv(words[1], r.ID)
			return
		}
	}
	ts.Fatalf("no ride of %s", words[0])
}

// scriptBundle packs files into a zip: bundle FILE.zip NAME...
func scriptBundle(ts *testscript.TestScript, _ bool, words []string) {
	if len(words) < 2 {
		ts.Fatalf("usage: bundle FILE.zip NAME...")
	}
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for _, name := range words[1:] {
		data, err := os.ReadFile(ts.MkAbs(name))
		ts.Check(err)
		w, err := z.Create(name)
		ts.Check(err)
		_, err = w.Write(data)
		ts.Check(err)
	}
	ts.Check(z.Close())
	ts.Check(os.WriteFile(ts.MkAbs(words[0]), buf.Bytes(), 0o600))
}

// scriptLarge makes a file of so many spaces: large FILE BYTES.
func scriptLarge(ts *testscript.TestScript, _ bool, words []string) {
	n, err := strconv.Atoi(words[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(words[0]), bytes.Repeat([]byte(" "), n), 0o600))
}

// scriptNewer makes a book one of a version that is not written yet: newer BOOK.
func scriptNewer(ts *testscript.TestScript, _ bool, words []string) {
	db, err := bbolt.Open(ts.MkAbs(words[0]), 0o600, nil)
	ts.Check(err)
	ts.Check(db.Update(func(tx *bbolt.Tx) error {
		meta := tx.Bucket([]byte("meta"))
		later := bytes.Clone(meta.Get([]byte("format")))
		later[len(later)-1] += 100
		return meta.Put([]byte("format"), later)
	}))
	ts.Check(db.Close())
}

// scriptCut keeps the first bytes of a file: cut FILE 5000.
func scriptCut(ts *testscript.TestScript, _ bool, words []string) {
	if len(words) != 2 {
		ts.Fatalf("usage: cut FILE BYTES")
	}
	n, err := strconv.ParseInt(words[1], 10, 64)
	ts.Check(err)
	ts.Check(os.Truncate(ts.MkAbs(words[0]), n))
}

// scriptPoke changes one byte of a file: poke FILE 100 (negative: from its end).
func scriptPoke(ts *testscript.TestScript, _ bool, words []string) {
	if len(words) != 2 {
		ts.Fatalf("usage: poke FILE OFFSET")
	}
	path := ts.MkAbs(words[0])
	data, err := os.ReadFile(path)
	ts.Check(err)
	at, err := strconv.Atoi(words[1])
	ts.Check(err)
	if at < 0 {
		at += len(data)
	}
	binary.LittleEndian.PutUint16(data[at:], ^binary.LittleEndian.Uint16(data[at:]))
	ts.Check(os.WriteFile(path, data, 0o644))
}
