package main

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pawl/cmd/internal/desk"
	"pawl/wear"
)

// completePatience is how long a shell waits for the book, which another
// program may have: whoever pressed a key waits no longer.
const completePatience = time.Second

// completeRides is how many rides are offered: the latest.
const completeRides = 40

// completeMost is how many words are offered at most: of more, some from all over.
const completeMost = 100

// completing reports whether it is the shell that asks.
func completing(args []string) bool {
	return len(args) > 0 && (args[0] == cobra.ShellCompRequestCmd || args[0] == cobra.ShellCompNoDescRequestCmd)
}

// completes lets the shell complete every command: the words of its use line
// and the names of its flags say what can stand there.
func (a *app) completes(cmd *cobra.Command) {
	for _, sub := range cmd.Commands() {
		a.completes(sub)
	}
	if cmd.ValidArgsFunction == nil && strings.Contains(cmd.Use, " ") {
		cmd.ValidArgsFunction = func(cmd *cobra.Command, words []string, typed string) ([]string, cobra.ShellCompDirective) {
			return a.offers(asked{cmd: cmd, words: words, typed: typed}, slotsAt(cmd.Use, len(words)))
		}
	}
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
		slot := cmp.Or(flagSlots[cmd.Name()+" --"+f.Name], flagSlots["--"+f.Name])
		if slot == "" {
			return
		}
		// It fails only where the command has said itself what completes its flag.
		_ = cmd.RegisterFlagCompletionFunc(f.Name, func(cmd *cobra.Command, words []string, typed string) ([]string, cobra.ShellCompDirective) {
			return a.offers(asked{cmd: cmd, words: words, typed: typed}, []string{slot})
		})
	})
}

// flagSlots say what the value of a flag is, of all commands or of one.
var flagSlots = map[string]string{
	"--bike": "BIKE", "--like": "BIKE", "--ground": "OUTDOORS", "mark --ground": "GROUND",
	"--old": "CAUSE", "signoff --cause": "END", "--cause": "CAUSE",
	"--sheet": "SHEET", "--units": "metric|imperial", "--motor": "MOTOR", "--tool": "TOOL",
	"setup --mount": "iscg|iscg-05|bottom-bracket|direct", "fit --part": "SHELF", "note --part": "PART", "--treated": "oil|wax|glycol|mineral",
	"--material": "aluminium|steel|organic|sintered", "--book": "FILE", "--dir": "FILE",
	"--depot": "DEPOT", "--tag": "TAG",
	"--owner": "PERSON", "--card": "FILE", "--config": "FILE", "--to-dir": "FILE", "--ics": "FILE", "match --folder": "FILE",
	"--as": "metric|imperial", "--verdicts": "stop,due|stop|due|order|fine", "--verdict": "stop|due|order|fine", "costs --by": "kind|model|bike|depot", "--kind": "KIND",
}

// asked is an unfinished command line.
type asked struct {
	cmd   *cobra.Command
	words []string
	typed string
}

// word is what stands in the place of a word of the use line, "" where nothing does.
func (q asked) word(slot string) string {
	for i, w := range q.words {
		if slices.Contains(slotsAt(q.cmd.Use, i), slot) {
			return w
		}
	}
	return ""
}

// slotsAt are the words of a use line that can stand in a place: after one that
// repeats, the next can come too.
func slotsAt(use string, place int) []string {
	slots := strings.Fields(use)[1:]
	for i, s := range slots {
		word, many := strings.CutSuffix(strings.Trim(s, "[]"), "...")
		switch {
		case many && place >= i:
			found := []string{word}
			for _, next := range slots[i+1:] {
				found = append(found, strings.Trim(next, "[]"))
			}
			return found
		case place == i:
			return []string{word}
		}
	}
	return nil
}

// offers are what can stand in the place of the unfinished word. They come from
// the book as it is; where it cannot be read, nothing is offered or said.
func (a *app) offers(q asked, slots []string) ([]string, cobra.ShellCompDirective) {
	ctx, cancel := context.WithTimeout(cmp.Or(q.cmd.Context(), context.Background()), completePatience)
	defer cancel()
	var found []desk.Offer
	directive := cobra.ShellCompDirectiveNoFileComp
	for _, slot := range slots {
		if strings.HasPrefix(slot, "FILE") || slot == "PATH" || slot == "DIR" || slot == "SHEET" {
			directive = cobra.ShellCompDirectiveDefault
		}
		for _, o := range a.offer(ctx, q, slot) {
			begins := strings.HasPrefix(strings.ToLower(o.Text), strings.ToLower(q.typed))
			if begins && !slices.Contains(q.words, o.Text) {
				found = append(found, o)
			}
		}
	}
	return completions(found), directive | cobra.ShellCompDirectiveKeepOrder
}

// completions are offers as the shell reads them. Of more than can be looked
// through it gets the first, the last and some between, in the order of the
// alphabet: they begin with the same letters as all of them do.
func completions(found []desk.Offer) []string {
	all := len(found)
	if all > completeMost {
		slices.SortFunc(found, func(a, b desk.Offer) int { return strings.Compare(a.Text, b.Text) })
		some := make([]desk.Offer, completeMost)
		for i := range some {
			some[i] = found[i*(all-1)/(completeMost-1)]
		}
		found = some
	}
	var words []string
	for _, o := range found {
		words = append(words, cobra.CompletionWithDesc(o.Text, oneLine(o.About)))
	}
	if all > len(found) {
		words = cobra.AppendActiveHelp(words, fmt.Sprintf("%d of %d: type more of the name", len(found), all))
	}
	return words
}

// offer is all that can stand for a word of a use line.
func (a *app) offer(ctx context.Context, q asked, slot string) []desk.Offer {
	if strings.Contains(slot, "|") && strings.ToLower(slot) == slot {
		return plainOffers(strings.Split(slot, "|"))
	}
	if fixed, ok := fixedOffers[slot]; ok {
		return fixed()
	}
	if ask, ok := bookOffers[slot]; ok {
		d, err := a.desk(q.cmd)
		if err != nil {
			return nil
		}
		offers, err := ask(ctx, d, q)
		if err == nil {
			return offers
		}
	}
	return nil
}

func plainOffers[T ~string](words []T) []desk.Offer {
	var offers []desk.Offer
	for _, w := range words {
		offers = append(offers, desk.Offer{Text: string(w)})
	}
	return offers
}

// fixedOffers are the words that are the same in every book.
var fixedOffers = map[string]func() []desk.Offer{
	"KIND": func() (offers []desk.Offer) {
		for _, k := range wear.Default().Kinds() {
			offers = append(offers, desk.Offer{Text: k.Name, About: k.Title})
		}
		return offers
	},
	"WHEEL": func() (offers []desk.Offer) {
		for _, k := range wear.Default().Kinds() {
			if wear.Carries(k.Name) {
				offers = append(offers, desk.Offer{Text: k.Name, About: k.Title})
			}
		}
		return offers
	},
	"GROUND": func() (offers []desk.Offer) {
		for g := range wear.NGrounds {
			offers = append(offers, desk.Offer{Text: g.String()})
		}
		return offers
	},
	"OUTDOORS": func() (offers []desk.Offer) {
		for g := range wear.NGrounds {
			if !g.Indoor() {
				offers = append(offers, desk.Offer{Text: g.String()})
			}
		}
		return offers
	},
	"SHEET": func() (offers []desk.Offer) {
		for _, s := range wear.Sheets() {
			offers = append(offers, desk.Offer{Text: s.Name, About: s.Title})
		}
		return offers
	},
	"END": func() []desk.Offer { return plainOffers(wear.Causes) },
	"CAUSE": func() []desk.Offer {
		return append(plainOffers(wear.Causes), desk.Offer{Text: "shelf", About: "may be used again"})
	},
	"TOOL": func() []desk.Offer { return plainOffers(wear.Tools) },
	"MOTOR": func() (offers []desk.Offer) {
		for _, m := range []wear.Motor{wear.NoMotor, wear.MidMotor, wear.HubMotor} {
			offers = append(offers, desk.Offer{Text: m.String()})
		}
		return offers
	},
}

// bookOffers are the words that stand in the book.
var bookOffers = map[string]func(context.Context, *desk.Desk, asked) ([]desk.Offer, error){
	"BIKE": func(ctx context.Context, d *desk.Desk, _ asked) ([]desk.Offer, error) { return d.BikeOffers(ctx) },
	"PART": func(ctx context.Context, d *desk.Desk, q asked) ([]desk.Offer, error) {
		return d.PartOffers(ctx, q.word("BIKE"), q.typed)
	},
	"JOB": func(ctx context.Context, d *desk.Desk, q asked) ([]desk.Offer, error) {
		return d.JobOffers(ctx, q.word("BIKE"), q.word("PART"))
	},
	"DEPOT":  func(ctx context.Context, d *desk.Desk, _ asked) ([]desk.Offer, error) { return d.DepotOffers(ctx) },
	"TAG":    func(ctx context.Context, d *desk.Desk, _ asked) ([]desk.Offer, error) { return d.TagOffers(ctx) },
	"PERSON": func(ctx context.Context, d *desk.Desk, _ asked) ([]desk.Offer, error) { return d.PersonOffers(ctx) },
	"RIDE": func(ctx context.Context, d *desk.Desk, q asked) ([]desk.Offer, error) {
		return d.RideOffers(ctx, q.typed, completeRides)
	},
	"SHELF": func(ctx context.Context, d *desk.Desk, q asked) ([]desk.Offer, error) {
		return d.ShelfOffers(ctx, q.word("KIND"))
	},
	"NAME": func(ctx context.Context, d *desk.Desk, q asked) ([]desk.Offer, error) {
		wheel := q.word("WHEEL")
		if wheel == "" {
			return nil, fmt.Errorf("a name is the user's to give")
		}
		return d.ShelfOffers(ctx, wheel)
	},
}
