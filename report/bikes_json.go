package report

import (
	"cmp"
	"io"

	"pawl/wear"
)

type bikeJSON struct {
	Bike      string    `json:"bike"`
	Sheet     *string   `json:"sheet"`
	Verdict   *string   `json:"verdict"`
	RiderMass float64   `json:"rider_mass"` // kg
	BikeMass  float64   `json:"bike_mass"`  // kg
	Wheel     *float64  `json:"wheel"`      // m
	Motor     string    `json:"motor"`
	Speeds    *float64  `json:"speeds"`
	Guide     bool      `json:"guide"`
	Fleet     bool      `json:"fleet"`
	Note      *string   `json:"note"`
	Parts     int       `json:"parts"`
	Last      *string   `json:"last"`
	Total     totalJSON `json:"total"`
	Estimated []string  `json:"estimated"`
	Standing  string    `json:"standing"` // in service, held or retired
	Depot     *string   `json:"depot"`
	Tags      []string  `json:"tags"`
	Price     *float64  `json:"price"` // of a hire day, in the book's currency
}

func (s Style) bikeJSON(b BikeLine) bikeJSON {
	rider, bike := b.Bike.Masses()
	out := bikeJSON{
		Bike: b.Bike.Name, Sheet: textOf(b.Bike.Sheet), RiderMass: rider, BikeMass: bike,
		Wheel: positive(b.Bike.Wheel), Motor: motorName(b.Bike.Motor), Speeds: positive(float64(b.Bike.Speeds)),
		Guide: b.Bike.Guide, Fleet: b.Bike.Fleet, Note: textOf(b.Bike.Note), Parts: b.Parts,
		Last: isoTime(b.Last, s.zone()), Total: totalOf(b.Total), Estimated: estimated(b.Total.Estimated),
		Standing: cmp.Or(string(b.Standing), string(wear.InService)),
		Depot:    textOf(b.Bike.Depot), Tags: list(b.Bike.Tags), Price: positive(float64(b.Bike.Price) / 100),
	}
	if b.Worst != nil {
		out.Verdict = textOf(b.Worst.String())
	}
	return out
}

// BikesJSON writes bikes as one JSON object.
func BikesJSON(w io.Writer, bikes []BikeLine, warnings []string, s Style) error {
	out := make([]bikeJSON, len(bikes))
	for i, b := range bikes {
		out[i] = s.bikeJSON(b)
	}
	return writeJSON(w, struct {
		envelope
		Bikes []bikeJSON `json:"bikes"`
	}{enclose(warnings), out})
}

// BikeJSON writes one bike and the parts on it as one JSON object.
func BikeJSON(w io.Writer, b BikeLine, parts []PartLine, s Style) error {
	var setup *setupJSON
	if b.Setup != nil {
		j := s.setupOf(*b.Setup)
		setup = &j
	}
	var rings *ringsJSON
	if b.Rings != nil {
		j := ringsOf(*b.Rings)
		rings = &j
	}
	var cogs *cogsJSON
	if b.Cogs != nil {
		j := s.cogsOf(*b.Cogs)
		cogs = &j
	}
	return writeJSON(w, struct {
		envelope
		Bike  bikeJSON   `json:"bike"`
		Parts []partJSON `json:"parts"`
		Setup *setupJSON `json:"setup"`
		Rings *ringsJSON `json:"rings"`
		Cogs  *cogsJSON  `json:"cogs"`
	}{enclose(nil), s.bikeJSON(b), s.partsJSON(parts), setup, rings, cogs})
}

type endJSON struct {
	At    *string    `json:"at"`
	Cause wear.Cause `json:"cause"`
}

// PartJSON writes one part and its history as one JSON object.
func PartJSON(w io.Writer, d PartPage, s Style) error {
	part := d.Part.Part
	var end *endJSON
	if part.End != nil {
		end = &endJSON{isoTime(part.End.At, s.zone()), part.End.Cause}
	}
	stays := []stayJSON{}
	for _, l := range d.Stays {
		stays = append(stays, s.stayJSON(l))
	}
	return writeJSON(w, struct {
		envelope
		Part      partJSON   `json:"part"`
		Teeth     *float64   `json:"teeth"`
		Cogs      []int      `json:"cogs"`
		Material  *string    `json:"material"`
		Narrow    bool       `json:"narrow_wide"`
		Note      *string    `json:"note"`
		Ended     *endJSON   `json:"ended"`
		Estimated []string   `json:"estimated"`
		Stays     []stayJSON `json:"stays"`
		pastJSON
	}{
		enclose(nil), s.partsJSON([]PartLine{d.Part})[0], positive(float64(part.Teeth)), list(part.Cogs),
		textOf(part.Material), part.Narrow, textOf(part.Note), end, estimated(d.Part.Total.Estimated), stays,
		s.pastJSON(d.Readings, d.Looks, d.SignOffs),
	})
}
