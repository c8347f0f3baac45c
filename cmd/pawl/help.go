package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/wear"
)

// helpWidth is how wide help is: whoever reads it may have no wider terminal.
const helpWidth = 80

// teach gives all commands the help of this program.
func (a *app) teach(root *cobra.Command) {
	root.SetHelpCommand(a.helpCmd())
	root.SetHelpFunc(func(cmd *cobra.Command, _ []string) { fmt.Fprint(cmd.OutOrStdout(), helpText(cmd)) })
	root.SetUsageFunc(func(cmd *cobra.Command) error {
		_, err := fmt.Fprint(cmd.OutOrStderr(), usageText(cmd))
		return err
	})
	ownCompletion(root)
}

func (a *app) helpCmd() *cobra.Command {
	return &cobra.Command{
		Use: "help [COMMAND|TOPIC]", GroupID: groupStart,
		Short: "Help on a command, or a page that teaches",
		Long: `Shows what a command does and how it is typed, or one of the pages that teach how
pawl counts and how to do the work. Without a word it lists them all.`,
		Example:           "  pawl help due\n  pawl help wear",
		ValidArgsFunction: completeHelp,
		RunE: func(cmd *cobra.Command, words []string) error {
			if len(words) == 1 && slices.ContainsFunc(topics, func(t topic) bool { return t.name == words[0] }) {
				page, err := topicPage(words[0], wear.Default())
				if err == nil {
					_, err = fmt.Fprint(a.out, page)
				}
				return err
			}
			about, rest, err := cmd.Root().Find(words)
			if err != nil || len(rest) > 0 && (about == cmd.Root() || about.HasSubCommands()) {
				return unknownHelp(about, rest[0])
			}
			about.InitDefaultHelpFlag()
			return about.Help()
		},
	}
}

// completeHelp offers topics and commands, then the commands of a noun.
func completeHelp(cmd *cobra.Command, words []string, typed string) (found []string, _ cobra.ShellCompDirective) {
	offer := func(name, about string) {
		if strings.HasPrefix(name, typed) {
			found = append(found, cobra.CompletionWithDesc(name, about))
		}
	}
	about, rest, err := cmd.Root().Find(words)
	if err != nil || len(rest) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	for _, c := range about.Commands() {
		if c.IsAvailableCommand() {
			offer(c.Name(), c.Short)
		}
	}
	if about == cmd.Root() {
		for _, t := range topics {
			offer(t.name, t.short)
		}
	}
	return found, cobra.ShellCompDirectiveNoFileComp
}

// unknownHelp suggests the page that was meant.
func unknownHelp(parent *cobra.Command, word string) error {
	if parent.HasParent() {
		return unknownCommand(parent, word)
	}
	err := &desk.MistakeError{Msg: fmt.Sprintf("help %q: neither a command nor a topic", word), Tip: "pawl help lists them"}
	names := []string{}
	for _, c := range parent.Commands() {
		names = append(names, c.Name())
	}
	for _, t := range topics {
		names = append(names, t.name)
	}
	if _, isKind := wear.Default().Kind(word); isKind {
		err.Tip = fmt.Sprintf("pawl schedule %s shows its jobs", word)
	} else if near := wear.Nearest(word, names); near != "" {
		err.Tip = fmt.Sprintf("did you mean pawl help %s?", near)
	}
	return err
}

// helpText is what a command does, then how it is typed.
func helpText(cmd *cobra.Command) string {
	about := cmd.Long
	if about == "" {
		about = cmd.Short
	}
	return fill(about) + "\n" + usageText(cmd)
}

// usageText is how a command is typed: examples before flags, which few read.
func usageText(cmd *cobra.Command) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Usage:\n  %s\n", cmd.UseLine())
	if cmd.HasExample() {
		fmt.Fprintf(&b, "\nExamples:\n%s\n", cmd.Example)
	}
	for _, g := range groupsOf(cmd) {
		fmt.Fprintf(&b, "\n%s\n%s", g.Title, columns(g.ID, cmd.Commands()))
	}
	if !cmd.HasParent() {
		fmt.Fprint(&b, "\nTopics:\n", topicList())
	}
	if cmd.HasAvailableLocalFlags() {
		fmt.Fprintf(&b, "\nFlags:\n%s", cmd.LocalFlags().FlagUsagesWrapped(helpWidth))
	}
	if cmd.HasAvailableInheritedFlags() {
		fmt.Fprintf(&b, "\nFlags of every command:\n%s", cmd.InheritedFlags().FlagUsagesWrapped(helpWidth))
	}
	if cmd.HasAvailableSubCommands() {
		fmt.Fprintf(&b, "\n%s COMMAND --help tells more about one of them.\n", cmd.CommandPath())
	}
	return b.String()
}

// groupsOf are the groups of a command's own commands; a noun has but one.
func groupsOf(cmd *cobra.Command) []*cobra.Group {
	if !cmd.HasAvailableSubCommands() {
		return nil
	}
	if groups := cmd.Groups(); len(groups) > 0 {
		return groups
	}
	return []*cobra.Group{{Title: "Commands:"}}
}

func columns(group string, cmds []*cobra.Command) string {
	var b strings.Builder
	for _, c := range cmds {
		if c.GroupID == group && (c.IsAvailableCommand() || c.Name() == "help") {
			fmt.Fprintf(&b, "  %-*s  %s\n", c.NamePadding(), c.Name(), c.Short)
		}
	}
	return b.String()
}

// fill breaks text at helpWidth: a paragraph is joined and broken anew, a line
// that begins with a space stays as it is.
func fill(text string) string {
	var b strings.Builder
	var para []string
	flush := func() {
		b.WriteString(hang(helpWidth, "", strings.Join(para, " ")))
		para = nil
	}
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, " \n")
		if line != "" && line[0] != ' ' {
			para = append(para, line)
			continue
		}
		flush()
		b.WriteString(line + "\n")
	}
	flush()
	return b.String()
}

// hang breaks text into lines of a width; the first begins with first, the
// others are indented as far.
func hang(width int, first, text string) string {
	indent := strings.Repeat(" ", len([]rune(first)))
	var b strings.Builder
	line, words := first, 0
	for _, word := range unbroken(text) {
		if words > 0 && len([]rune(line+word)) > width {
			b.WriteString(strings.TrimRight(line, " ") + "\n")
			line, words = indent, 0
		}
		line += word + " "
		words++
	}
	if words > 0 {
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	return b.String()
}

// unbroken are the words of a text; a figure and its unit are one.
func unbroken(text string) []string {
	var words []string
	for _, w := range strings.Fields(text) {
		if n := len(words); n > 0 && unit[strings.TrimRight(w, ".,;:")] && strings.ContainsAny(words[n-1][:1], "0123456789") {
			words[n-1] += " " + w
			continue
		}
		words = append(words, w)
	}
	return words
}

var unit = map[string]bool{"%": true, "mm": true, "km": true, "h": true, "N·m": true}

// ownCompletion says of cobra's completion commands what it says of others: in
// few words, with an example.
func ownCompletion(root *cobra.Command) {
	root.InitDefaultCompletionCmd()
	cmd, _, err := root.Find([]string{"completion"})
	if err != nil || cmd == root {
		return // switched off
	}
	cmd.Short = "Let the shell complete commands, bikes, parts and jobs"
	cmd.Long = `Writes what a shell must read to complete the words of pawl: commands and flags, and
from the book bikes, parts, jobs and rides. Completing reads the book and changes
nothing in it.`
	load := map[string]string{
		"bash":       "It needs the package bash-completion. In this shell: source pawl.bash. For all: that line in ~/.bashrc, or the file in the folder of bash-completion.",
		"zsh":        "Put the file into a folder of $fpath, and the line autoload -U compinit; compinit into ~/.zshrc.",
		"fish":       "For all shells: the file in ~/.config/fish/completions.",
		"powershell": "In this shell: . ./pawl.ps1. For all: that line in your profile.",
	}
	files := map[string]string{"bash": "pawl.bash", "zsh": "_pawl", "fish": "pawl.fish", "powershell": "pawl.ps1"}
	for _, shell := range cmd.Commands() {
		shell.Short = "For " + shell.Name()
		shell.Long = "Writes what " + shell.Name() + " must read to complete the words of pawl. " + load[shell.Name()]
		shell.Example = fmt.Sprintf("  pawl completion %s > %s", shell.Name(), files[shell.Name()])
	}
	cmd.Example = firstExamples(cmd)
}

// firstExamples are the first examples of a noun's commands.
func firstExamples(noun *cobra.Command) string {
	var lines []string
	for _, c := range noun.Commands() {
		if first, _, _ := strings.Cut(c.Example, "\n"); first != "" {
			lines = append(lines, first)
		}
	}
	return strings.Join(lines, "\n")
}
