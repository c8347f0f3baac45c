package report

import (
	"math"
	"strings"
)

// plotRows is how high a plot is, without its axis.
const plotRows = 14

// plot is a picture of letters over two axes: they survive any font, any
// terminal without colour, and mail.
type plot struct {
	x1, y0, y1 float64 // the axis of x begins at 0
	cells      [][]byte
}

// clear makes an empty plot of so many columns.
func (g *plot) clear(cols int) {
	g.cells = make([][]byte, plotRows)
	for i := range g.cells {
		g.cells[i] = []byte(strings.Repeat(" ", cols))
	}
}

func (g *plot) cols() int { return len(g.cells[0]) }

// x is the place on the axis that a column stands for.
func (g *plot) x(col int) float64 { return g.x1 * float64(col) / float64(g.cols()-1) }

func (g *plot) col(x float64) int { return int(math.Round(x / g.x1 * float64(g.cols()-1))) }

// row is where a figure lies, 0 at the top; far outside it is just outside.
func (g *plot) row(y float64) int {
	r := (g.y1 - y) / (g.y1 - g.y0) * (plotRows - 1)
	return int(math.Round(max(-2, min(plotRows+1, r))))
}

// put writes a letter where only letters of over stand; none is any.
func (g *plot) put(col, row int, letter byte, over string) {
	if row < 0 || row >= plotRows || col < 0 || col >= g.cols() {
		return
	}
	if c := &g.cells[row][col]; over == "" || strings.IndexByte(over, *c) >= 0 {
		*c = letter
	}
}

// fill writes a letter from one figure to another, the end of it included.
func (g *plot) fill(col int, from, to float64, letter byte) {
	top, bottom := g.row(max(from, to)), g.row(min(from, to))
	for r := max(0, top); r <= min(plotRows-1, bottom); r++ {
		g.put(col, r, letter, " ")
	}
}

// tick is a figure beside an axis.
type tick struct {
	at   int
	text string
}

// ticks are round figures between two, about n of them.
func ticks(from, to float64, n int) []float64 {
	step := math.Pow(10, math.Floor(math.Log10((to-from)/float64(n))))
	for _, more := range []float64{2, 2.5, 2} { // 1, 2, 5, 10
		if (to-from)/step <= float64(n)+1 {
			break
		}
		step *= more
	}
	var list []float64
	for k := math.Ceil(from/step - 1e-9); k*step <= to*(1+1e-9); k++ {
		list = append(list, k*step+0) // no minus before nought
	}
	return list
}

// lines is the plot with its axes; a later tick wins over one in its place.
func (g *plot) lines(left, below []tick) []string {
	labels, w := make([]string, plotRows), widest(left)
	for _, t := range left {
		if t.at >= 0 && t.at < plotRows {
			labels[t.at] = t.text
		}
	}
	var out []string
	for i, cells := range g.cells {
		out = append(out, strings.Repeat(" ", w-width(labels[i]))+labels[i]+" |"+string(cells))
	}
	axis, scale := []byte(strings.Repeat("-", g.cols())), []byte(strings.Repeat(" ", g.cols()))
	free := 0
	for _, t := range below {
		from := max(0, min(t.at-len(t.text)/2, g.cols()-len(t.text)))
		if from < free {
			continue
		}
		if t.at > 0 {
			axis[t.at] = '+'
		}
		copy(scale[from:], t.text)
		free = from + len(t.text) + 2
	}
	indent := strings.Repeat(" ", w+1)
	return append(out, indent+"+"+string(axis), indent+" "+string(scale))
}

func widest(list []tick) int {
	w := 0
	for _, t := range list {
		w = max(w, width(t.text))
	}
	return w
}
