package main

import (
	"github.com/spf13/cobra"

	"pawl/report"
)

func (a *app) partLifeCmd() *cobra.Command {
	var out outputFlags
	cmd := &cobra.Command{
		Use:   "part-life [KIND]",
		Short: "How long parts last here, by kind and model",
		Long: `Says how long the parts of all bikes last, ended and running ones, by kind and model:
the load that half of them outlast, the load before which a tenth fail, each with
its interval of 90 %, and what the schedule expects. Below five that wore out or
broke it says nothing, below twenty the figures are rough. With a kind it says how
they came about.`,
		Example: "  pawl part-life\n  pawl part-life chain\n  pawl part-life --csv",
		Args:    args(0, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			list, err := d.PartLife(cmd.Context(), optional(words), out.today)
			if err != nil {
				return err
			}
			var lines []report.LifeLine
			for _, l := range list {
				lines = append(lines, report.LifeLine(l))
			}
			switch {
			case out.json:
				return report.PartLifeJSON(a.out, lines)
			case out.csv:
				return report.PartLifeCSV(a.out, lines)
			}
			return report.PartLife(a.out, lines, len(words) > 0, out.style(cmd.Context(), a, d))
		},
	}
	out.add(cmd, true)
	return cmd
}
