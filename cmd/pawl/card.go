package main

import (
	"bytes"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) cardCmd() *cobra.Command {
	var form, force bool
	var today, configFile string
	cmd := &cobra.Command{
		Use:   "card BIKE [FILE]",
		Short: "The job card of a bike for the stand, one page to print",
		Long: `Writes the job card of a bike, an HTML page for A4 paper: what to do in working order,
torque to set, parts to take, readings to take, how the guide is set up, what was done
last, cautions. --form writes a form to be filled in instead, which pawl signoff
--card enters as a whole. Without a file it goes to standard output.`,
		Example: `  pawl card enduro enduro.html
  pawl card enduro enduro.toml --form`,
		Args: args(1, 2),
		RunE: func(cmd *cobra.Command, words []string) error {
			c, err := a.config(configFile)
			if err != nil {
				return err
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			state, err := d.Card(cmd.Context(), words[0], today)
			if err != nil {
				return err
			}
			page, style := cardPage(state, c.Shop.Name), a.style(cmd.Context(), d)
			var out bytes.Buffer
			if form {
				err = report.WriteCardForm(&out, page, style)
			} else {
				err = report.Card(&out, page, style)
			}
			if err != nil {
				return err
			}
			return a.deliver(out.Bytes(), optional(words[1:]), force)
		},
	}
	cmd.Flags().BoolVar(&form, "form", false, "a form to fill in, for pawl signoff --card")
	cmd.Flags().BoolVar(&force, "force", false, "write over a file that is there")
	cmd.Flags().StringVar(&today, "today", "", "as if it were this day: facts dated after it are left out")
	cmd.Flags().StringVar(&configFile, "config", "", "the config file, for the shop's name")
	return cmd
}

// deliver writes to a file that is not there yet, or to standard output.
func (a *app) deliver(data []byte, path string, force bool) error {
	if path == "" {
		_, err := a.out.Write(data)
		return err
	}
	flags := os.O_WRONLY | os.O_CREATE | os.O_EXCL
	if force {
		flags = os.O_WRONLY | os.O_CREATE | os.O_TRUNC
	}
	f, err := os.OpenFile(path, flags, 0o600)
	if os.IsExist(err) {
		return &desk.RefusalError{Msg: fmt.Sprintf("file %q: is there already", path), Tip: "--force writes over it"}
	}
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		_, err = fmt.Fprintf(a.out, "%s written\n", oneLine(path))
	}
	return err
}

func cardPage(s desk.CardState, shop string) report.CardPage {
	page := report.CardPage{
		Shop: shop, Bike: s.Bike, Owner: s.Owner, Today: s.Today, Visit: s.Visit, Findings: s.Findings, Parts: s.Parts,
		SignOffs: cardSignOffs(s.SignOffs), Declined: cardSignOffs(s.Declined),
	}
	if s.Setup.Known || s.Setup.Guided {
		setup := setupPage(s.Setup)
		page.Setup = &setup
	}
	return page
}

func cardSignOffs(list []desk.CardSignOff) []report.CardSignOff {
	out := make([]report.CardSignOff, len(list))
	for i, s := range list {
		out[i] = report.CardSignOff(s)
	}
	return out
}

// enterCard enters a form as it came back from the stand.
func (a *app) enterCard(cmd *cobra.Command, path string) error {
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	form, err := report.ReadCardForm(data)
	if err != nil {
		return &desk.MistakeError{Msg: fmt.Sprintf("%s: %v", path, err), Tip: "nothing of the form was entered; pawl card BIKE --form prints one"}
	}
	work, err := cardWork(form)
	if err != nil {
		return err
	}
	d, err := a.desk(cmd)
	if err != nil {
		return err
	}
	done, err := d.EnterCard(cmd.Context(), work)
	if err != nil {
		return err
	}
	for _, m := range done.Measured {
		d.Warnings = append(d.Warnings, m.Notes...)
	}
	return a.tell(cmd, d, func(report.Style) string {
		return fmt.Sprintf("%s: %s signed off or declined, %s, %s entered", done.Bike.Name,
			report.Count(len(done.Signed), "job"), report.Count(len(done.Measured), "reading"), report.Count(done.Looks, "look"))
	})
}

// cardWork is what a form says, its figures read.
func cardWork(f report.CardForm) (desk.CardWork, error) {
	w := desk.CardWork{Bike: f.Bike, On: f.On, By: f.By}
	for _, j := range f.Jobs {
		job := desk.CardJob{
			Part: j.Part, Job: j.Job, Done: j.Done, Declined: j.Declined, Minutes: j.Minutes, Note: j.Note, Look: j.Look, Model: j.Model,
		}
		var err error
		if job.Torque, err = desk.ParseTorque(j.Torque); err != nil {
			return w, fmt.Errorf("%s %s: %w", j.Part, j.Job, err)
		}
		if job.Cost, err = desk.ParseMoney(j.Cost); err != nil {
			return w, fmt.Errorf("%s %s: %w", j.Part, j.Job, err)
		}
		if j.Reading != "" {
			job.Sitting = &wear.Sitting{Words: []string{j.Reading}, Tool: j.Tool}
		}
		w.Jobs = append(w.Jobs, job)
	}
	return w, nil
}
