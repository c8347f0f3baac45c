package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// app is what the commands share: the machine, the flags of the root, and how
// the person wants to read.
type app struct {
	machine
	book  string
	units string
}

// The groups of commands, in the order of the help text.
const (
	groupStart = "start"
	groupRides = "rides"
	groupBikes = "bikes"
	groupWork  = "work"
	groupLook  = "look"
	groupFolk  = "people"
	groupFleet = "fleet"
	groupKeep  = "keep"
)

func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:   "pawl",
		Short: "What is worn, what is loose, what to order, and when",
		Long: `pawl counts what rides put through every part of a mountain bike, holds
readings against limits and counts against intervals, and says what to do.
pawl demo shows how it looks; the other examples are how to start.`,
		Example: `  pawl demo
  pawl bike add "my bike" --sheet trail
  pawl import rides
  pawl due`,
		SilenceErrors: true, SilenceUsage: true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		PersistentPreRunE: func(*cobra.Command, []string) error {
			if a.units != "metric" && a.units != "imperial" {
				return &desk.MistakeError{Msg: fmt.Sprintf("--units %q: neither metric nor imperial", a.units), Tip: "--units metric"}
			}
			return nil
		},
	}
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.err)
	root.SetFlagErrorFunc(wrongFlag)
	root.PersistentFlags().StringVar(&a.book, "book", "", "the book, one file that holds everything (default: $PAWL_BOOK, else the user's data folder)")
	root.PersistentFlags().StringVar(&a.units, "units", "metric", "metric or imperial")
	for _, g := range [][2]string{
		{groupStart, "Start"},
		{groupRides, "Rides"},
		{groupBikes, "Bikes"},
		{groupWork, "Work"},
		{groupLook, "Look"},
		{groupFolk, "People"},
		{groupFleet, "Fleet"},
		{groupKeep, "Keep"},
	} {
		root.AddGroup(&cobra.Group{ID: g[0], Title: g[1] + ":"})
	}
	root.SetHelpCommandGroupID(groupStart)
	root.SetCompletionCommandGroupID(groupKeep)
	a.add(root, groupStart, a.demoCmd())
	a.add(root, groupRides, a.importCmd(), a.watchCmd(), a.rideCmd())
	a.add(root, groupBikes, a.bikeCmd(), a.fitCmd(), a.removeCmd(), a.swapCmd(), a.partCmd(), a.setupCmd())
	a.add(root, groupWork, a.measureCmd(), a.lookCmd(), a.signoffCmd(), a.cardCmd(), a.visitCmd(), a.undoCmd())
	a.add(root, groupLook, a.dueCmd(), a.whyCmd(), a.cogsCmd(), a.ringsCmd(), a.partLifeCmd(), a.scheduleCmd(), a.historyCmd())
	a.add(root, groupFolk, a.personCmd(), a.remindCmd())
	a.add(root, groupFleet, a.fleetCmd(), a.ordersCmd(), a.costsCmd())
	a.add(root, groupKeep, a.auditCmd(), a.backupCmd(), a.recountCmd(), a.versionCmd())
	a.teach(root)
	root.CompletionOptions.SetDefaultShellCompDirective(cobra.ShellCompDirectiveNoFileComp)
	return root
}

func (a *app) add(root *cobra.Command, group string, cmds ...*cobra.Command) {
	for _, c := range cmds {
		c.GroupID = group
		root.AddCommand(c)
	}
}

// unknownCommand suggests the command that was meant.
func unknownCommand(parent *cobra.Command, word string) error {
	var names []string
	for _, c := range parent.Commands() {
		names = append(names, c.Name())
	}
	tip := parent.CommandPath() + " --help lists them"
	if near := wear.Nearest(word, names); near != "" {
		tip = fmt.Sprintf("did you mean %s %s?", parent.CommandPath(), near)
	}
	return &desk.MistakeError{Msg: fmt.Sprintf("command %q: no such command of %s", word, parent.CommandPath()), Tip: tip}
}

func wrongFlag(cmd *cobra.Command, err error) error {
	msg, _, _ := strings.Cut(err.Error(), ": strconv.")
	return &desk.MistakeError{Msg: msg, Tip: cmd.CommandPath() + " --help"}
}

// args checks how many words a command was given; most < 0 is any number.
func args(least, most int) cobra.PositionalArgs {
	return func(cmd *cobra.Command, words []string) error {
		if len(words) >= least && (most < 0 || len(words) <= most) {
			return nil
		}
		if cmd.HasSubCommands() && len(words) > 0 {
			return unknownCommand(cmd, words[0])
		}
		what := "too many words"
		if len(words) < least {
			what = "something is missing"
		}
		return &desk.MistakeError{Msg: cmd.CommandPath() + ": " + what, Tip: cmd.UseLine()}
	}
}

// noun is a command that only holds others.
func noun(name, short string, subs ...*cobra.Command) *cobra.Command {
	c := &cobra.Command{
		Use: name, Short: short, Args: args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	c.AddCommand(subs...)
	c.Example = firstExamples(c)
	return c
}

// desk opens the desk of the book that flags and environment name.
func (a *app) desk(cmd *cobra.Command) (*desk.Desk, error) {
	d := desk.Open(a.bookPath(), desk.LocalZone(), cmd.CommandPath(), a.now)
	return d, nil
}

// bookPath is where the book lies: --book, $PAWL_BOOK, or the data folder.
func (a *app) bookPath() string {
	switch {
	case a.book != "":
		return a.book
	case a.env("PAWL_BOOK") != "":
		return a.env("PAWL_BOOK")
	}
	return filepath.Join(xdg.DataHome, "pawl", "pawl.book")
}

// style is how the results of a book are to look: in its time zone.
func (a *app) style(ctx context.Context, d *desk.Desk) report.Style {
	s := a.plainStyle()
	if zone, err := d.Zone(ctx); err == nil {
		s.Zone = zone
	}
	return s
}

// logStyle is for lists of one line a file, which logs and other programs read:
// a line is broken on a terminal only.
func (a *app) logStyle() report.Style {
	s := a.plainStyle()
	if _, is := a.terminal(a.out); !is && s.Width == 0 {
		s.Width = 1000
	}
	return s
}

// plainStyle is how results are to look: the terminal's width, colour only on
// a terminal and never with NO_COLOR.
func (a *app) plainStyle() report.Style {
	s := report.Style{Imperial: a.units == "imperial"}
	columns, is := a.terminal(a.out)
	s.Width = columns
	s.Colour = is && a.env("NO_COLOR") == "" && a.env("TERM") != "dumb"
	if n, err := strconv.Atoi(a.env("COLUMNS")); err == nil && !is {
		s.Width = n
	}
	return s
}
