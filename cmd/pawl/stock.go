package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

// stockFlags are what a user says of the shelf.
type stockFlags struct {
	req        desk.StockRequest
	count, add int
	price      string
}

func (f *stockFlags) addTo(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.req.Model, "model", "", "what the maker calls it (default: parts of no model)")
	cmd.Flags().IntVar(&f.count, "count", 0, "how many there are")
	cmd.Flags().IntVar(&f.add, "add", 0, "how many came in")
	cmd.Flags().StringVar(&f.price, "price", "", "what one costs, as 24.50")
	cmd.Flags().StringVar(&f.req.Lead, "lead", "", "how long from order to shelf, as 21d or 3w")
	cmd.Flags().StringVar(&f.req.Supplier, "supplier", "", "who sells it")
	cmd.Flags().StringVar(&f.req.On, "on", "", "when (default: now)")
	cmd.Flags().StringVar(&f.req.By, "by", "", "who counted")
	cmd.Flags().StringVar(&f.req.Note, "note", "", "a note to keep with it")
}

// said reports whether the flags say something of the shelf; without that it is
// listed.
func (f *stockFlags) said(cmd *cobra.Command) bool {
	return countGiven(cmd, "count", "add", "price", "lead", "supplier", "on", "by", "note") > 0
}

// request is what the flags say.
func (f *stockFlags) request(cmd *cobra.Command, kind string) (desk.StockRequest, error) {
	f.req.Kind = kind
	if kind == "" {
		return f.req, &desk.MistakeError{Msg: "stock: of which kind of part?", Tip: "pawl part stock chain --count 12"}
	}
	if cmd.Flags().Changed("count") {
		f.req.Count = &f.count
	}
	if cmd.Flags().Changed("add") {
		f.req.Add = &f.add
	}
	var err error
	f.req.Price, err = desk.ParseMoney(f.price)
	return f.req, err
}

func (a *app) partStockCmd() *cobra.Command {
	var out outputFlags
	var f stockFlags
	cmd := &cobra.Command{
		Use:   "stock [KIND]",
		Short: "What is on the shelf, or what there is from now on",
		Long: `Lists the parts on the shelf by kind and model, with price, supplier and the time
from order to shelf. With a kind and a figure it enters what was counted or came in.
What is fitted new since is taken off by itself. What is said of a kind without
--model holds for models of which nothing is said, but for their number.`,
		Example: `  pawl part stock
  pawl part stock chain --model "12-speed" --count 12 --price 24.50 --lead 3w
  pawl part stock chain --model "12-speed" --add 20`,
		Args: args(0, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			if !f.said(cmd) {
				return a.listStock(cmd, d, optional(words), f.req.Model, out)
			}
			req, err := f.request(cmd, optional(words))
			if err != nil {
				return err
			}
			shelf, err := d.SetStock(cmd.Context(), req)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string { return s.StockSaid(shelf) })
		},
	}
	out.add(cmd, true)
	f.addTo(cmd)
	return cmd
}

func (a *app) listStock(cmd *cobra.Command, d *desk.Desk, kind, model string, out outputFlags) error {
	list, err := d.Stock(cmd.Context(), kind, model, out.today)
	if err != nil {
		return err
	}
	style := out.style(cmd.Context(), a, d)
	switch {
	case out.json:
		return report.StockJSON(a.out, list, style)
	case out.csv:
		return report.StockCSV(a.out, list, style)
	}
	return report.Stock(a.out, list, style)
}
