package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

func factFlags(cmd *cobra.Command, f *desk.Fact) {
	cmd.Flags().StringVar(&f.On, "on", "", "when (default: now)")
	cmd.Flags().StringVar(&f.Note, "note", "", "a note to keep with it")
}

func (a *app) lookCmd() *cobra.Command {
	var f desk.Fact
	var turn turnRoundFlags
	cmd := &cobra.Command{
		Use:   "look BIKE PART good|watch|replace|unsafe",
		Short: "Enter what an eye said of a part",
		Long: `Enters a look: good; watch (look again soon); replace (its time has come);
unsafe (the bike must not be ridden until it is put right).

--turn-round enters the two minutes between hires instead, of one bike or of several:
brakes, tyres, axles, bars, crank, guide, witness marks, all good but for what
--watch, --replace and --unsafe name, by the point or by the part. --paper writes a
page to tick off first. Witness marks count as a torque check only where you say
--witness-marks, and only of bolts that were set with a tool since they were fitted.`,
		Example: `  pawl look enduro ring watch --note "teeth begin to hook"
  pawl look enduro guide unsafe --note "lower bolt missing" --by Kim
  pawl look enduro --turn-round --by Kim --watch "front-tyre: cut"
  pawl look --turn-round --paper stand.html --depot Lakeside`,
		Args: func(cmd *cobra.Command, words []string) error {
			if turn.on {
				return nil
			}
			return args(3, 3)(cmd, words)
		},
		RunE: func(cmd *cobra.Command, words []string) error {
			if turn.on {
				return a.turnRound(cmd, words, f, turn)
			}
			if countGiven(cmd, turnRoundOnly...) > 0 {
				return &desk.MistakeError{Msg: "--" + strings.Join(turnRoundOnly, ", --") + " are of a turn-round check", Tip: "pawl look BIKE... --turn-round --by NAME"}
			}
			f.Bike, f.Part = words[0], words[1]
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			l, p, err := d.Look(cmd.Context(), f, words[2])
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string {
				return fmt.Sprintf("%s: %s on %s", p.Name, l.Word, s.Date(l.At))
			})
		},
	}
	factFlags(cmd, &f)
	cmd.Flags().StringVar(&f.By, "by", "", "who looked")
	turn.add(cmd)
	return cmd
}

func (a *app) signoffCmd() *cobra.Command {
	var req desk.SignOffRequest
	var f partFlags
	var torque, cost, card string
	cmd := &cobra.Command{
		Use:   "signoff [BIKE] [JOB...]",
		Short: "Enter that jobs were done",
		Long: `Enters that jobs were done: all of them or, where one is not understood, none.
A job is named as pawl due prints it (chain:change), or by the kind or the job
alone where that is plain. One that changes a part fits the new one, which is as
the old one was unless the flags say otherwise.

A torque is always written with its unit. Use the maker's figure for both parts,
the lower of the two; never re-torque a threadlocked bolt by routine.

Cost and minutes are those of all jobs named: each gets its share of the minutes by
how long such jobs take, and of the cost too or, where parts are changed, those do.

--card enters a form that pawl card --form printed and somebody filled in: all that it
says was done, declined, read or seen, or nothing.`,
		Example: `  pawl signoff enduro guide-bolts --torque 8Nm --by Kim
  pawl signoff enduro chain:change --model "12-speed" --cost 24.50 --minutes 20
  pawl signoff enduro ring:change --teeth 32 --narrow-wide --cause worn
  pawl signoff --card filled.toml`,
		Args: args(0, -1),
		RunE: func(cmd *cobra.Command, words []string) error {
			switch {
			case card != "" && len(words) == 0:
				if cmd.Flags().NFlag() > countGiven(cmd, "card", "book", "units") {
					return &desk.MistakeError{Msg: "a card says itself when, by whom and for how much", Tip: "pawl signoff --card FILE"}
				}
				return a.enterCard(cmd, card)
			case card != "":
				return &desk.MistakeError{Msg: "a card names its bike and jobs itself", Tip: "pawl signoff --card FILE"}
			case len(words) < 2:
				return &desk.MistakeError{Msg: "pawl signoff: something is missing", Tip: "pawl signoff BIKE JOB..."}
			}
			req.Bike, req.Jobs = words[0], words[1:]
			var err error
			if req.New, err = f.part(); err != nil {
				return err
			}
			if req.Torque, err = desk.ParseTorque(torque); err != nil {
				return err
			}
			if req.Cost, err = desk.ParseMoney(cost); err != nil {
				return err
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			done, err := d.SignOff(cmd.Context(), req)
			if err != nil {
				return err
			}
			return a.tellSigned(cmd, d, done, req)
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&req.On, "on", "", "when (default: now)")
	cmd.Flags().StringVar(&req.By, "by", "", "who did it")
	cmd.Flags().StringVar(&torque, "torque", "", "torque set or checked, with its unit: 8Nm or 71in-lb")
	cmd.Flags().StringVar(&cost, "cost", "", "what all of it cost, as 24.50")
	cmd.Flags().IntVar(&req.Minutes, "minutes", 0, "how long all of it took")
	cmd.Flags().StringVar(&req.Note, "note", "", "a note to keep with it")
	cmd.Flags().BoolVar(&req.Declined, "declined", false, "the work was offered and not wanted")
	cmd.Flags().BoolVar(&req.Witness, "witness-mark", false, "the witness marks are intact, which counts as checked")
	cmd.Flags().StringVar(&req.Cause, "cause", "", "why the old part's life ended (default: worn)")
	cmd.Flags().StringVar(&card, "card", "", "enter a form that pawl card --form printed")
	return cmd
}

// countGiven is how many of the flags were given.
func countGiven(cmd *cobra.Command, flags ...string) (n int) {
	for _, f := range flags {
		if cmd.Flags().Changed(f) {
			n++
		}
	}
	return n
}

func (a *app) tellSigned(cmd *cobra.Command, d *desk.Desk, done []desk.SignedJob, req desk.SignOffRequest) error {
	for _, j := range done {
		err := a.tell(cmd, d, func(s report.Style) string {
			text := fmt.Sprintf("%s:%s signed off on %s", j.Part.Kind, j.Job.Name, s.Date(j.At))
			if req.Declined {
				text = fmt.Sprintf("%s:%s declined on %s", j.Part.Kind, j.Job.Name, s.Date(j.At))
			}
			if req.By != "" {
				text += " by " + req.By
			}
			if req.Torque > 0 {
				text += " at " + s.Torque(req.Torque)
			}
			if j.Unsafe != nil {
				text += fmt.Sprintf("; the look of %s still says unsafe: pawl look %s %s good clears it",
					s.Date(j.Unsafe.At), req.Bike, j.Part.Kind)
			}
			if j.Fitted != nil {
				text += fmt.Sprintf("; %s is on, %s came off", j.Fitted.Name, j.Part.Name)
			}
			return text
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (a *app) undoCmd() *cobra.Command {
	return &cobra.Command{
		Use:     "undo",
		Short:   "Take back the last entry, which stays in the history",
		Example: "  pawl undo",
		Args:    args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			e, err := d.Undo(cmd.Context())
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string {
				return strings.TrimSpace(fmt.Sprintf("taken back: %s %s of %s", e.Verb, e.Target, s.Moment(e.At)))
			})
		},
	}
}
