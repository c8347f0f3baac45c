package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) personCmd() *cobra.Command {
	return noun("person", "The people whose bikes they are", a.personAddCmd(), a.personListCmd(), a.personChangeCmd(),
		a.personForgetCmd(), a.personReadCmd())
}

// personFlags are what a user says of a person.
type personFlags struct {
	name, email, units, note string
	req                      desk.PersonRequest
}

func (f *personFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.email, "email", "", "where messages go")
	cmd.Flags().StringVar(&f.units, "as", "", "how distances are told: metric or imperial")
	cmd.Flags().StringVar(&f.note, "note", "", "a note to keep")
	cmd.Flags().StringVar(&f.req.Consent, "consent", "", "how they agreed to messages, as \"form at the counter\"")
	cmd.Flags().StringVar(&f.req.On, "on", "", "when they agreed, or took it back (default: now)")
	cmd.Flags().StringArrayVar(&f.req.Bikes, "bike", nil, "a bike of theirs; may be given several times")
}

// request is what the flags say.
func (f *personFlags) request(cmd *cobra.Command) (desk.PersonRequest, error) {
	given := func(name string, text *string) *string {
		if !cmd.Flags().Changed(name) {
			return nil
		}
		return text
	}
	f.req.Email, f.req.Note = given("email", &f.email), given("note", &f.note)
	if cmd.Flags().Lookup("name") != nil {
		f.req.Name = given("name", &f.name)
	}
	if cmd.Flags().Changed("consent") && strings.TrimSpace(f.req.Consent) == "" {
		return f.req, &desk.MistakeError{Msg: "--consent: say how they agreed", Tip: `--consent "form at the counter"`}
	}
	if f.units != "" {
		imperial := f.units == "imperial"
		if !imperial && f.units != "metric" {
			return f.req, &desk.MistakeError{Msg: fmt.Sprintf("--as %q: neither metric nor imperial", f.units), Tip: "--as metric"}
		}
		f.req.Imperial = &imperial
	}
	if f.req.On != "" && f.req.Consent == "" && !f.req.Withdraw {
		return f.req, &desk.MistakeError{Msg: "--on is the day of consent", Tip: `--consent "form at the counter" --on 2026-05-03`}
	}
	return f.req, nil
}

func (a *app) personAddCmd() *cobra.Command {
	var f personFlags
	cmd := &cobra.Command{
		Use:   "add NAME",
		Short: "Enter a person, and whether they agreed to messages",
		Long: `Enters a person. Messages are sent only to who agreed: --consent says how, --on when.
What is known of a person stays in the book; nothing of it goes anywhere but into
messages to them.`,
		Example: `  pawl person add Ada --bike "hire 7" --email ada@example.org --consent form`,
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			req, err := f.request(cmd)
			if err != nil {
				return err
			}
			req.Name = &words[0]
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			p, err := d.AddPerson(cmd.Context(), req)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string { return p.Name + " is in the book; " + reached(p, wear.At(a.now)) })
		},
	}
	f.add(cmd)
	return cmd
}

// reached says whether a person may be written to.
func reached(p wear.Person, now wear.Instant) string {
	switch {
	case !p.Consent.Holds(now):
		return "no message is sent without consent (--consent)"
	case p.Email == "":
		return "no message can be sent without --email"
	}
	return "messages go to " + p.Email
}

func (a *app) personChangeCmd() *cobra.Command {
	var f personFlags
	cmd := &cobra.Command{
		Use:   "change PERSON",
		Short: "Change what is known of a person",
		Long: `Changes what is known of a person, named by name or e-mail. --no-consent takes consent
back: from then on nothing is sent, also nothing that waits in the outbox.`,
		Example: `  pawl person change "Kim Doe" --email kim.doe@example.org --as imperial
  pawl person change kim.doe@example.org --no-consent`,
		Args: args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			req, err := f.request(cmd)
			if err != nil {
				return err
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			p, err := d.ChangePerson(cmd.Context(), words[0], req)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string { return p.Name + " is changed; " + reached(p, wear.At(a.now)) })
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&f.name, "name", "", "another name")
	cmd.Flags().BoolVar(&f.req.Withdraw, "no-consent", false, "consent is taken back")
	exclusive(cmd, "consent", "no-consent")
	return cmd
}

func (a *app) personListCmd() *cobra.Command {
	var out outputFlags
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List people, their bikes, their consent and the last message",
		Example: "  pawl person list\n  pawl person list --csv > people.csv",
		Args:    args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			people, err := d.People(cmd.Context())
			if err != nil {
				return err
			}
			lines := make([]report.PersonLine, len(people))
			for i, p := range people {
				lines[i] = report.PersonLine(p)
			}
			style, now := out.style(cmd.Context(), a, d), wear.At(a.now)
			switch {
			case out.json:
				return report.PeopleJSON(a.out, lines, now, style)
			case out.csv:
				return report.PeopleCSV(a.out, lines, style)
			}
			return report.People(a.out, lines, now, style)
		},
	}
	out.addList(cmd)
	return cmd
}

func (a *app) personForgetCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "forget PERSON",
		Short: "Erase a person everywhere; their bikes stay, nameless",
		Long: `Erases a person: name, address, consent, notes and messages. Bikes named after them
get another name, the bikes and what those did stay. The book is written anew, so
that nothing is left in its free pages. It cannot be undone. Copies of the book that
you made are not covered: forget the person there too, or throw them away.`,
		Example: `  pawl person forget "Kim Doe"`,
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			res, err := d.ForgetPerson(cmd.Context(), words[0])
			if err != nil {
				return err
			}
			for _, name := range res.Renamed {
				d.Warnings = append(d.Warnings, "a bike was named after them: it is "+name+" now")
			}
			for _, where := range res.StillNamed {
				d.Warnings = append(d.Warnings, "still named in "+where)
			}
			d.Warnings = append(d.Warnings, "copies of the book made earlier are not covered")
			return a.tell(cmd, d, func(report.Style) string { return "forgotten; the book was written anew" })
		},
	}
}
