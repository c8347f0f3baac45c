package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func bikeLine(b desk.BikeState) report.BikeLine {
	worst := wear.Worst(b.Findings)
	return report.BikeLine{Bike: b.Bike, Parts: b.Parts, Total: b.Total, Last: b.Use.Last, Worst: &worst, Standing: b.Standing, Status: b.Status, Owner: b.Owner}
}

func (a *app) bikes(cmd *cobra.Command, d *desk.Desk, list []desk.BikeState, out outputFlags) error {
	var lines []report.BikeLine
	for _, b := range list {
		lines = append(lines, bikeLine(b))
	}
	style := out.style(cmd.Context(), a, d)
	switch {
	case out.json:
		return report.BikesJSON(a.out, lines, nil, style)
	case out.csv:
		return report.BikesCSV(a.out, lines, style)
	}
	return report.Bikes(a.out, lines, style)
}

func (a *app) bike(cmd *cobra.Command, d *desk.Desk, b desk.BikePage, out outputFlags) error {
	style := a.style(cmd.Context(), d)
	line, setup, rings := bikeLine(b.BikeState), setupPage(b.Setup), ringsPage(b.Rings)
	line.Setup, line.Rings, line.Cogs, line.Meters = &setup, &rings, b.Cogs, b.Meters
	if out.json {
		return report.BikeJSON(a.out, line, partLines(b.Parts), style)
	}
	return report.Bike(a.out, line, partLines(b.Parts), style)
}

func partLines(parts []desk.PartState) []report.PartLine {
	var lines []report.PartLine
	for _, p := range parts {
		lines = append(lines, partLine(p))
	}
	return lines
}

func partLine(p desk.PartState) report.PartLine {
	return report.PartLine{Part: p.Part, Bike: p.Bike.Name, Since: p.Since, Total: p.Total}
}

func (a *app) parts(cmd *cobra.Command, d *desk.Desk, list []desk.PartState, out outputFlags) error {
	lines := partLines(list)
	style := out.style(cmd.Context(), a, d)
	switch {
	case out.json:
		return report.PartsJSON(a.out, lines, nil, style)
	case out.csv:
		return report.PartsCSV(a.out, lines, style)
	}
	return report.Parts(a.out, lines, style)
}

func (a *app) part(cmd *cobra.Command, d *desk.Desk, p desk.PartState, out outputFlags) error {
	page := report.PartPage{
		Part: partLine(p), Readings: p.Case.Readings, Looks: p.Case.Looks, SignOffs: p.Case.SignOffs,
	}
	for _, s := range p.Stays {
		page.Stays = append(page.Stays, report.StayLine{Stay: s.Stay, Bike: p.Hosts[s.Stay.Host], Total: s.Sum})
	}
	style := a.style(cmd.Context(), d)
	if out.json {
		return report.PartJSON(a.out, page, style)
	}
	return report.Part(a.out, page, style)
}
