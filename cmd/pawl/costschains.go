package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

func (a *app) costsChainsCmd() *cobra.Command {
	var out outputFlags
	var req desk.ChainCostsRequest
	var chain, cassette, ring, hour string
	cmd := &cobra.Command{
		Use:   "chains",
		Short: "Whether changing chains at 0.5 % or at 0.75 % costs less",
		Long: `Compares what changing chains at 0.5 % and at 0.75 % costs over 1,000 km, with the
cassettes and rings that they run on: from the bikes' own measured chains and ended
parts where there are enough, else from the schedule. It says the range, the chance
that 0.5 % costs less, what that rests on and what it takes for granted.`,
		Example: `  pawl costs chains
  pawl costs chains --chain-price 25 --cassette-price 80 --ring-price 40`,
		Args: args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			for _, m := range []struct {
				text string
				to   *int64
			}{{chain, &req.Ask.Chain}, {cassette, &req.Ask.Cassette}, {ring, &req.Ask.Ring}, {hour, &req.Ask.Hour}} {
				var err error
				if *m.to, err = desk.ParseMoney(m.text); err != nil {
					return err
				}
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			req.Today = out.today
			res, bikes, err := d.ChainCosts(cmd.Context(), req)
			if err != nil {
				return err
			}
			if out.json {
				return report.CostsOfChainsJSON(a.out, report.ChainCosts{Bikes: bikes, Result: res})
			}
			return report.CostsOfChains(a.out, report.ChainCosts{Bikes: bikes, Result: res}, a.style(cmd.Context(), d))
		},
	}
	out.add(cmd, false)
	cmd.Flags().StringVar(&req.Depot, "depot", "", "bikes of this depot only")
	cmd.Flags().StringVar(&req.Tag, "tag", "", "bikes with this tag only")
	cmd.Flags().StringVar(&chain, "chain-price", "", "what a chain costs, as 24.50 (default: by the list)")
	cmd.Flags().StringVar(&cassette, "cassette-price", "", "what a cassette costs (default: by the list)")
	cmd.Flags().StringVar(&ring, "ring-price", "", "what a chainring costs (default: by the list)")
	cmd.Flags().StringVar(&hour, "hour", "", "what an hour at the stand costs, as 45.00 (default: work is not counted)")
	return cmd
}
