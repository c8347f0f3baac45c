package desk

import (
	"strings"

	"pawl/ingest"
	"pawl/wear"
)

// bikeColumns are the names of the columns of a list of bikes, but for the parts,
// in lower case and without signs, and what they tell.
var bikeColumns = map[string]string{
	"bike": "name", "name": "name", "bike name": "name", "bicycle": "name",
	"sheet": "sheet", "build sheet": "sheet", "owner": "owner", "person": "owner", "customer": "owner",
	"depot": "depot", "location": "depot", "station": "depot", "tags": "tags", "tag": "tags",
	"price": "price", "price per hire day": "price", "price per day": "price", "price hire day": "price",
	"price day": "price", "day price": "price", "hire price": "price",
	"odometer": "odometer", "odometer km": "odometer", "odo": "odometer", "odo km": "odometer", "opening km": "odometer",
	"odometer mi": "odometer mi", "odometer miles": "odometer mi", "odo mi": "odometer mi",
	"odometer on": "on", "odometer date": "on", "odometer day": "on", "odo on": "on",
	"rider kg": "rider", "bike kg": "bike", "wheel mm": "wheel", "motor": "motor",
	"fleet": "fleet", "hired out": "fleet", "note": "note", "notes": "note",
}

// The columns of a part tell its model, or its teeth.
const (
	modelColumn = "model "
	teethColumn = "teeth "
)

// bikeForm is what a list of bikes tells: beside what bikeColumns has, the model
// of a part of every kind, and the teeth of those that have some.
func bikeForm() ingest.ListForm {
	form := ingest.ListForm{
		Columns: map[string]string{}, Must: "name", Figures: []string{"rider", "bike", "wheel", "price", "odometer", "odometer mi"},
		Names: "bike, sheet, depot, tags, price, odometer_km, odometer_on, owner, rider_kg, bike_kg, wheel_mm, motor, fleet, note, " +
			"and for the models of parts their kinds: chain, ring, front_tyre, …",
	}
	for name, tells := range bikeColumns {
		form.Columns[name] = tells
	}
	for _, k := range wear.Default().Kinds() {
		words := strings.ReplaceAll(k.Name, "-", " ")
		for _, name := range []string{words, strings.Replace(words, "tyre", "tire", 1)} {
			form.Columns[name] = modelColumn + k.Name
			form.Columns[name+" model"] = modelColumn + k.Name
		}
		if wear.Toothed(k.Name) {
			form.Columns[words+" teeth"] = teethColumn + k.Name
		}
	}
	return form
}
