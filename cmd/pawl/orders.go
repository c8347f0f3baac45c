package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

func (a *app) ordersCmd() *cobra.Command {
	var out outputFlags
	var req desk.OrdersRequest
	var service string
	cmd := &cobra.Command{
		Use:   "orders",
		Short: "What parts to order for the coming weeks",
		Long: `Says, by kind and model, how many parts the bikes will need in the coming weeks and
the time until parts come, with the range; how many to hold so that in 95 % of cases
none lacks; what of that the shelf has (pawl part stock); and which bikes ask.

A part that is due counts for certain, one that is measured by its forecast, one that
is looked at by what such parts last, one that a day changes when that day comes.
Chain, ring and cassette that are run out together are counted as one set. --csv is
what to send to a supplier: only what lacks.`,
		Example: `  pawl orders --weeks 6 --service 95%
  pawl orders --kind chain --depot Lakeside
  pawl orders --csv > orders.csv`,
		Args: args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			var err error
			if req.Service, err = desk.ParseService(service); err != nil {
				return err
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			req.Today = out.today
			list, err := d.Orders(cmd.Context(), req)
			if err != nil {
				return err
			}
			page := report.OrdersPage{Today: list.Today, Weeks: list.Weeks, Service: list.Service, Bikes: list.Bikes,
				Some: list.Some, Closely: req.Kind != "", Lines: list.Lines}
			style := out.style(cmd.Context(), a, d)
			switch {
			case out.json:
				return report.OrdersJSON(a.out, page, style)
			case out.csv:
				return report.OrdersCSV(a.out, page)
			}
			return report.Orders(a.out, page, style)
		},
	}
	out.add(cmd, true)
	cmd.Flags().Float64Var(&req.Weeks, "weeks", 6, "for how many weeks, beside the time until parts come")
	cmd.Flags().StringVar(&service, "service", "95%", "in what share of cases no part of a kind and model lacks")
	cmd.Flags().StringVar(&req.Kind, "kind", "", "parts of this kind only, with more of who asks")
	cmd.Flags().StringVar(&req.Depot, "depot", "", "for bikes of this depot only")
	cmd.Flags().StringVar(&req.Tag, "tag", "", "for bikes with this tag only")
	return cmd
}
