package store

import (
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/wear"
)

// quickOf reads with the quick reader alone.
func quickOf[T any](raw []byte) (fact T, ok bool) {
	t := &Tx{reads: newReads()}
	ok = t.quick(raw, &fact)
	return fact, ok
}

// likeLibrary holds the quick reader to the library's: what it takes it reads as the
// library does, whatever the bytes; and it takes what the encoder writes, but for
// what is left to the library.
func likeLibrary[T any](t *testing.T, gen *rapid.Generator[T], takes func(T) bool) {
	t.Run(reflect.TypeFor[T]().Name(), func(t *testing.T) {
		rapid.Check(t, func(t *rapid.T) {
			fact := gen.Draw(t, "fact")
			raw, err := codec.Marshal(fact)
			require.NoError(t, err)
			got, ok := quickOf[T](raw)
			assert.Equal(t, takes(fact), ok)
			var want T
			require.NoError(t, decoder.Unmarshal(raw, &want))
			if ok {
				assert.Equal(t, want, got)
			}
			garbled := garble(t, raw)
			if got, ok = quickOf[T](garbled); ok {
				want = *new(T)
				require.NoError(t, decoder.Unmarshal(garbled, &want), "%x", garbled)
				assert.Equal(t, want, got, "%x", garbled)
			}
		})
	})
}

// garble changes some bytes, cuts, or appends.
func garble(t *rapid.T, raw []byte) []byte {
	out := append([]byte(nil), raw...)
	for range rapid.IntRange(1, 3).Draw(t, "changes") {
		at := rapid.IntRange(0, len(out)-1).Draw(t, "at")
		switch rapid.IntRange(0, 3).Draw(t, "how") {
		case 0:
			out = append(out[:at+1], out[at:]...)
		case 1:
			if len(out) > 1 {
				out = append(out[:at], out[at+1:]...)
			}
		default:
			out[at] = rapid.Byte().Draw(t, "byte")
		}
	}
	return out
}

var (
	anyID      = rapid.Custom(func(t *rapid.T) wear.ID { return wear.ID(rapid.Uint64().Draw(t, "id")) })
	anyInstant = rapid.OneOf(
		rapid.SampledFrom([]wear.Instant{wear.Ever, wear.Never, 0, -1}),
		rapid.Custom(func(t *rapid.T) wear.Instant { return wear.Instant(rapid.Int64().Draw(t, "at")) }))
	anyFloat = rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, 0.5, 1.5, 65504, 5.9604644775390625e-8, 0.1, math.Inf(1), math.MaxFloat32}),
		rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.Float32().Draw(t, "f")) }))
)

func TestQuickReadsAsTheLibraryDoes(t *testing.T) {
	likeLibrary(t, rapid.Custom(func(t *rapid.T) wear.SignOff {
		return wear.SignOff{
			ID: rapid.Uint64().Draw(t, "id"), Part: anyID.Draw(t, "part"), Bike: anyID.Draw(t, "bike"), At: anyInstant.Draw(t, "at"),
			Job: rapid.String().Draw(t, "job"), By: rapid.String().Draw(t, "by"), Torque: anyFloat.Draw(t, "torque"),
			Cost: rapid.Int64().Draw(t, "cost"), Minutes: rapid.Int().Draw(t, "minutes"), Note: rapid.String().Draw(t, "note"),
			Fitted: anyID.Draw(t, "fitted"), Declined: rapid.Bool().Draw(t, "d"), Void: rapid.Bool().Draw(t, "v"), Witness: rapid.Bool().Draw(t, "w"),
		}
	}), func(wear.SignOff) bool { return true })
	likeLibrary(t, rapid.Custom(func(t *rapid.T) wear.Look {
		return wear.Look{
			ID: rapid.Uint64().Draw(t, "id"), Part: anyID.Draw(t, "part"), Bike: anyID.Draw(t, "bike"), At: anyInstant.Draw(t, "at"),
			Word: wear.Word(rapid.String().Draw(t, "word")), Note: rapid.String().Draw(t, "note"), By: rapid.String().Draw(t, "by"), Void: rapid.Bool().Draw(t, "v"),
		}
	}), func(wear.Look) bool { return true })
	likeLibrary(t, rapid.Custom(func(t *rapid.T) wear.Reading {
		r := wear.Reading{
			ID: rapid.Uint64().Draw(t, "id"), Part: anyID.Draw(t, "part"), Bike: anyID.Draw(t, "bike"), At: anyInstant.Draw(t, "at"),
			Of: wear.ReadingOf(rapid.String().Draw(t, "of")), Value: anyFloat.Draw(t, "value"), Tool: rapid.String().Draw(t, "tool"),
			Length: anyFloat.Draw(t, "length"), Pitches: rapid.Int().Draw(t, "pitches"), Note: rapid.String().Draw(t, "note"),
			Void: rapid.Bool().Draw(t, "v"), Which: rapid.String().Draw(t, "which"), Doubtful: rapid.Bool().Draw(t, "d"), Plate: anyFloat.Draw(t, "plate"),
		}
		if rapid.Bool().Draw(t, "gauged") {
			r.Gauge = &wear.Gauge{In: 0.5}
		}
		return r
	}), func(r wear.Reading) bool { return r.Gauge == nil })
	likeLibrary(t, rapid.Custom(func(t *rapid.T) wear.Stay {
		s := wear.Stay{Part: anyID.Draw(t, "part"), Host: anyID.Draw(t, "host"), From: anyInstant.Draw(t, "from"), To: anyInstant.Draw(t, "to"), Came: rapid.Bool().Draw(t, "came")}
		for q := range s.Opening {
			s.Opening[q] = rapid.Int64().Draw(t, "q")
		}
		return s
	}), func(wear.Stay) bool { return true })
	likeLibrary(t, anyPart, func(wear.Part) bool { return true })
	likeLibrary(t, anyBike, func(wear.Bike) bool { return true })
}

var anyPart = rapid.Custom(func(t *rapid.T) wear.Part {
	p := wear.Part{
		ID: anyID.Draw(t, "id"), Kind: rapid.String().Draw(t, "kind"), Name: rapid.String().Draw(t, "name"), Model: rapid.String().Draw(t, "model"),
		Teeth: rapid.Int().Draw(t, "teeth"), Cogs: rapid.SliceOf(rapid.Int()).Draw(t, "cogs"), Material: rapid.String().Draw(t, "material"),
		Speeds: rapid.Int().Draw(t, "speeds"), Narrow: rapid.Bool().Draw(t, "narrow"), Note: rapid.String().Draw(t, "note"),
		Treated: rapid.String().Draw(t, "treated"), Stamp: anyFloat.Draw(t, "stamp"),
	}
	if rapid.Bool().Draw(t, "ended") {
		p.End = &wear.End{At: anyInstant.Draw(t, "end"), Cause: wear.Cause(rapid.String().Draw(t, "cause"))}
	}
	return p
})

var anyBike = rapid.Custom(func(t *rapid.T) wear.Bike {
	return wear.Bike{
		ID: anyID.Draw(t, "id"), Name: rapid.String().Draw(t, "name"), Sheet: rapid.String().Draw(t, "sheet"),
		RiderMass: anyFloat.Draw(t, "rider"), Mass: anyFloat.Draw(t, "mass"), Wheel: anyFloat.Draw(t, "wheel"), Crr: anyFloat.Draw(t, "crr"),
		CdA: anyFloat.Draw(t, "cda"), Motor: wear.Motor(rapid.Uint8().Draw(t, "motor")), Speeds: rapid.Int().Draw(t, "speeds"),
		Fleet: rapid.Bool().Draw(t, "fleet"), Note: rapid.String().Draw(t, "note"), Added: anyInstant.Draw(t, "added"),
		Guide: rapid.Bool().Draw(t, "guide"), Owner: anyID.Draw(t, "owner"), Depot: rapid.String().Draw(t, "depot"),
		Tags: rapid.SliceOf(rapid.String()).Draw(t, "tags"), Price: rapid.Int64().Draw(t, "price"),
	}
})

// Every field of these facts is known to the quick reader or left to the library on
// purpose: one that is added must be added here too.
func TestQuickKnowsTheFields(t *testing.T) {
	for of, n := range map[reflect.Type]int{
		reflect.TypeFor[wear.SignOff](): 14, reflect.TypeFor[wear.Look](): 8, reflect.TypeFor[wear.Reading](): 16,
		reflect.TypeFor[wear.Stay](): 6, reflect.TypeFor[wear.Part](): 13, reflect.TypeFor[wear.End](): 2,
		reflect.TypeFor[wear.Bike](): 18,
	} {
		assert.Equal(t, n, of.NumField(), "%s has other fields than the quick reader knows", of)
	}
}
