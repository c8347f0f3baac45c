package report

import (
	"fmt"
	"io"
	"strings"

	"pawl/wear"
)

// OrdersPage is what to order, and for what.
type OrdersPage struct {
	Today   wear.Instant
	Weeks   float64
	Service float64 // 0 to 1
	Bikes   int     // that were asked
	Some    bool    // not all bikes of the book
	Closely bool    // say more of each line
	Lines   []wear.OrderLine
}

// How many bikes that ask for a part are named, and how many on a closer look.
const (
	askersShown = 3
	askersMost  = 20
)

// needLeast is the need from which a line is shown although none is to be held.
const needLeast = 0.05

// Orders writes what to order to a terminal, page by page.
func Orders(w io.Writer, o OrdersPage, s Style) error {
	p := &page{Style: s}
	p.para("", o.title())
	lines, idle := o.wanted()
	shown, window, err := cut(s.Pages, lines, fewRows)
	if err != nil {
		return err
	}
	p.gap()
	if len(lines) == 0 {
		p.line("Nothing is likely to be needed.")
	} else {
		p.orderTable(shown)
		p.rest(window, "kind and model", "kinds and models", "--csv")
		p.gap()
		p.para("", o.total())
		p.gap()
		for i := range shown {
			p.orderAskers(&shown[i], o.Closely)
		}
	}
	p.gap()
	for _, n := range o.notes(idle) {
		p.para("", n)
	}
	return p.to(w)
}

// title says for what the orders are.
func (o *OrdersPage) title() string {
	return fmt.Sprintf("Orders for %s and the time until they come, enough in %s of cases; %s asked",
		weeks(o.Weeks), service(o.Service), plural(o.Bikes, "bike", "bikes"))
}

func weeks(n float64) string {
	if n == 1 {
		return "1 week"
	}
	return hundredths(n) + " weeks"
}

// service is a service level in per cent, as it was given.
func service(v float64) string { return hundredths(100*v) + " %" }

// wanted are the lines that somebody needs, and how many others there are.
func (o *OrdersPage) wanted() (list []wear.OrderLine, idle int) {
	for i := range o.Lines {
		if l := &o.Lines[i]; l.Hold > 0 || l.Need >= needLeast {
			list = append(list, *l)
		} else {
			idle++
		}
	}
	return list, idle
}

func (p *page) orderTable(lines []wear.OrderLine) {
	cols := []column{
		{title: "part", least: 10}, {title: "need", right: true}, {title: "range", right: true}, {title: "hold", right: true},
		{title: "shelf", right: true}, {title: "order", right: true}, {title: "each", right: true}, {title: "cost", right: true},
		{title: "lead", right: true},
	}
	rows := make([][]string, len(lines))
	for i := range lines {
		rows[i] = orderRow(&lines[i])
	}
	p.table(filled(cols, rows))
}

func orderRow(l *wear.OrderLine) []string {
	row := []string{
		orderName(l), tenths(l.Need), fmt.Sprintf("%s–%s", whole(float64(l.P10)), whole(float64(l.P90))), whole(float64(l.Hold)),
		unknown, whole(float64(l.Order)), "", "", hundredths(l.Lead) + " d",
	}
	if l.P10 == l.P90 {
		row[2] = whole(float64(l.P10))
	}
	if l.Shelf.Counted {
		row[4] = whole(float64(l.Shelf.OnHand))
	}
	if l.Shelf.Price > 0 {
		row[6], row[7] = money(float64(l.Shelf.Price)), money(float64(l.Cost))
	}
	return row
}

// tenths is a number that is needed on average.
func tenths(v float64) string {
	if v >= 99.95 {
		return whole(v)
	}
	return number(v, 1)
}

// orderName is the kind and model of a line.
func orderName(l *wear.OrderLine) string { return partName(l.Kind, l.Model) }

// partName is a kind and a model in one.
func partName(kind, model string) string {
	return strings.TrimSpace(clean(kind) + " " + brief(model, longName))
}

// total is what all lines come to.
func (o *OrdersPage) total() string {
	parts, kinds, cost, free := 0, 0, int64(0), 0
	for i := range o.Lines {
		l := &o.Lines[i]
		if l.Order == 0 {
			continue
		}
		parts, kinds, cost = parts+l.Order, kinds+1, cost+l.Cost
		if l.Shelf.Price == 0 {
			free += l.Order
		}
	}
	text := fmt.Sprintf("To order: %s of %s", plural(parts, "part", "parts"), plural(kinds, "kind and model", "kinds and models"))
	switch {
	case parts == 0:
		return "Nothing to order: the shelf is enough."
	case free == parts:
		return text + "; no price is said: pawl part stock KIND --price"
	case free > 0:
		return fmt.Sprintf("%s, for %s and what the %s without a price cost", text, money(float64(cost)), plural(free, "part", "parts"))
	}
	return text + ", for " + money(float64(cost))
}

// orderAskers names the bikes that a line is for, and what must be known of it.
func (p *page) orderAskers(l *wear.OrderLine, closely bool) {
	most := askersShown
	if closely {
		most = askersMost
	}
	if len(l.Bikes) == 0 {
		return
	}
	n := len(l.Bikes)
	var names []string
	for _, a := range l.Bikes[:min(n, most)] {
		names = append(names, brief(a.Bike, longName)+" "+asks(a))
	}
	text := strings.Join(names, ", ")
	if more := n - most; more > 0 {
		text += fmt.Sprintf(", and %s more", number(float64(more), 0))
	}
	p.para("", orderName(l)+": "+text)
	for _, n := range l.Notes {
		p.para("  ", n)
	}
	if len(l.Specs) > 1 {
		p.para("  ", specs(l))
	}
	if closely {
		p.para("  ", "rests on: "+strings.Join(l.Says(), ", "))
	}
}

// asks is how surely a bike needs the part.
func asks(a wear.Asker) string {
	if a.Basis == wear.NeedDue {
		return "due"
	}
	return share(a.Chance)
}

// specs is what tells the parts of a line apart: "by need: 12.1 32 teeth, 3.0 30 teeth".
func specs(l *wear.OrderLine) string {
	if len(l.Specs) == 1 {
		return clean(l.Specs[0].Text)
	}
	var list []string
	for _, s := range l.Specs {
		text := brief(s.Text, longName)
		if text == "" {
			text = "not told"
		}
		list = append(list, tenths(s.Need)+" "+text)
	}
	if len(list) == 0 {
		return ""
	}
	return "by need: " + strings.Join(list, ", ")
}

// notes say what the figures rest on.
func (o *OrdersPage) notes(idle int) []string {
	var notes []string
	if idle > 0 {
		notes = append(notes, plural(idle, "kind and model", "kinds and models")+" of which most likely none is needed: --json has them.")
	}
	if n := o.uncounted(); n > 0 {
		notes = append(notes, "Nobody has counted the shelf of "+plural(n, "kind and model", "kinds and models")+": none taken to be there. pawl part stock KIND --count N says it.")
	}
	if o.Some {
		notes = append(notes, "The shelf is that of all bikes, also of those not asked.")
	}
	notes = append(notes,
		"need: on average, all of it estimated. range: fewer in one case of ten, more in one of ten. hold: the least stock that is enough, for each line by itself. order: what of that is not on the shelf (–: never counted).",
		"It rests on: "+o.rests()+". Bikes are taken to be ridden on as lately; a season that is off hits all alike, ± 20 % (common practice, no published source). Two of a part may be needed in one window, not three. Sealant, grease and other service without a part are not among it.",
		"A forecast orders a part; it never says that one is worn: the reading or the look does. "+wear.Caution+".")
	return notes
}

// uncounted is how many lines order what may be on the shelf.
func (o *OrdersPage) uncounted() (n int) {
	for i := range o.Lines {
		if l := &o.Lines[i]; l.Order > 0 && !l.Shelf.Counted {
			n++
		}
	}
	return n
}

// rests is what the needs of all lines rest on.
func (o *OrdersPage) rests() string {
	var all wear.OrderLine
	for i := range o.Lines {
		l := &o.Lines[i]
		for b, n := range l.Rests {
			all.Rests[b] += n
		}
		if l.Rests[wear.NeedLife] > 0 {
			all.Life.Failures += l.Life.Failures
		}
	}
	if text := strings.Join(all.Says(), ", "); text != "" {
		return text
	}
	return "no part of which anything tells"
}
