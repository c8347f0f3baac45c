package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

func (a *app) costsCmd() *cobra.Command {
	var out outputFlags
	var req desk.CostsRequest
	var hour string
	cmd := &cobra.Command{
		Use:   "costs",
		Short: "What parts and work cost, per bike and 1,000 km",
		Long: `Gathers what was signed off and fitted over the last twelve months, or since a day:
parts and work by kind, model, bike or depot, for 1,000 km and for a hire day.

A change without a cost entered has the price that pawl part stock has of its kind
and model on that day; work without minutes has those of the schedule. Both are said. pawl costs chains
compares the limits at which chains are changed.`,
		Example: `  pawl costs
  pawl costs --by bike --depot Lakeside --hour 45.00
  pawl costs --by model --kind chain --since 2026-01-01 --csv
  pawl costs chains`,
		Args: args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			var err error
			if req.Hour, err = desk.ParseMoney(hour); err != nil {
				return err
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			req.Today = out.today
			costs, err := d.Costs(cmd.Context(), req)
			if err != nil {
				return err
			}
			style := out.style(cmd.Context(), a, d)
			switch {
			case out.json:
				return report.CostsJSON(a.out, costs, style)
			case out.csv:
				return report.CostsCSV(a.out, costs)
			}
			return report.Costs(a.out, costs, style)
		},
	}
	out.add(cmd, true)
	cmd.Flags().StringVar(&req.By, "by", "", "kind, model, bike or depot (default: kind)")
	cmd.Flags().StringVar(&req.Depot, "depot", "", "bikes of this depot only")
	cmd.Flags().StringVar(&req.Tag, "tag", "", "bikes with this tag only")
	cmd.Flags().StringVar(&req.Kind, "kind", "", "parts of this kind only")
	cmd.Flags().StringVar(&req.Since, "since", "", "from this day on (default: twelve months back)")
	cmd.Flags().StringVar(&hour, "hour", "", "what an hour at the stand costs, as 45.00 (default: work is not counted in money)")
	cmd.AddCommand(a.costsChainsCmd())
	return cmd
}
