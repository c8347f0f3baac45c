package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) whyCmd() *cobra.Command {
	var out outputFlags
	var rides int
	var noPlot bool
	cmd := &cobra.Command{
		Use:   "why BIKE PART [JOB]",
		Short: "How a figure came about, down to the rides",
		Long: `Shows what a verdict rests on: the limit and its source, the rides that count, the
readings and looks, and how the date was reckoned. Without a job, the part's most
urgent one.`,
		Example: "  pawl why enduro chain\n  pawl why enduro guide-bolts check --rides 50",
		Args:    args(2, 3),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			job := ""
			if len(words) == 3 {
				job = words[2]
			}
			res, err := d.Why(cmd.Context(), desk.Fact{Bike: words[0], Part: words[1]}, job, out.today)
			if err != nil {
				return err
			}
			return a.showWhy(cmd, d, res, whyOutput{out, rides, noPlot})
		},
	}
	out.add(cmd, false)
	cmd.Flags().IntVar(&rides, "rides", 5, "how many of the latest rides to list; --json has all")
	cmd.Flags().BoolVar(&noPlot, "no-plot", false, "leave out the plot of a part that was measured")
	return cmd
}

type whyOutput struct {
	outputFlags
	rides  int
	noPlot bool
}

func (a *app) showWhy(cmd *cobra.Command, d *desk.Desk, res desk.WhyResult, out whyOutput) error {
	page := report.WhyPage{Explanation: res.Explanation, Today: res.Today, NoPlot: out.noPlot, Bikes: map[wear.ID]string{}}
	for _, r := range res.Rides {
		page.Rides = append(page.Rides, rideLine(r))
	}
	page.Bikes = res.Bikes
	style := a.style(cmd.Context(), d)
	if out.json {
		return report.WhyJSON(a.out, page, style)
	}
	if n := len(page.Rides) - max(out.rides, 0); n > 0 {
		page.Rides, page.Earlier = page.Rides[n:], n
	}
	return report.Why(a.out, page, style)
}
