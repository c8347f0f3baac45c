package desk

// Rows are those rows of a list of which the figures are asked: from From up to,
// not including, To, counted from 0; all where To is 0. Of the others a list
// tells what they are, and no figure.
type Rows struct{ From, To int }

// asks reports whether the figures of a row are asked.
func (r Rows) asks(i int) bool { return r.To == 0 || i >= r.From && i < r.To }
