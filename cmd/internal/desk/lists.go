package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// ListResult is what became of a list of people or bikes.
type ListResult struct {
	Added, Changed, Same int
	New                  []string // what is new, a line each
	Says                 []string // what differs, a line each
	Notes                []string // what of a row was left as it is, and why
	Wrong                []string // rows that were refused: "FILE: line 3, column 2 (\"sheet\"): why"
	Unread               []string // columns that tell nothing
	DryRun               bool
}

// ListRequest is a list to read.
type ListRequest struct {
	Raw    []byte
	File   string                                // whence it comes, for messages and the history
	DryRun bool                                  // only say what would change
	Sheet  func(name string) (wear.Sheet, error) // reads a build sheet of the user's own, of bikes
}

// errDry takes back what a dry run tried.
var errDry = errors.New("dry run")

// listReader enters the rows of a list, each by itself.
type listReader struct {
	*Desk
	tx    *store.Tx
	file  string
	res   *ListResult
	bikes *bikeReader
}

// listSource says how the rows of a list are read.
type listSource struct {
	form  ingest.ListForm
	verb  string
	batch int // rows that are written at once; 0 = all
	enter func(*listReader, ingest.ListRow) error
	bikes *bikeReader
}

// readList enters a list in batches, which undo takes back together.
func (d *Desk) readList(ctx context.Context, req ListRequest, s listSource) (ListResult, error) {
	res := ListResult{DryRun: req.DryRun}
	list, err := ingest.ReadList(req.Raw, s.form)
	var refused *ingest.RefusedError
	if errors.As(err, &refused) {
		return res, refusal(refused.Hint, "%s: %v", plainText(req.File), refused)
	}
	if err != nil {
		return res, fmt.Errorf("%s: %w", plainText(req.File), err)
	}
	l := listReader{Desk: d, file: plainText(req.File), res: &res, bikes: s.bikes}
	for _, bad := range list.Bad {
		l.wrong(bad)
	}
	res.Unread = list.Unread
	for rows := range slices.Chunk(list.Rows, cmp.Or(s.batch, len(list.Rows), 1)) {
		if err := l.read(ctx, rows, s); err != nil {
			return res, err
		}
	}
	return res, nil
}

// read enters some rows in one transaction.
func (l *listReader) read(ctx context.Context, rows []ingest.ListRow, s listSource) error {
	so := *l.res
	err := l.Book.Update(ctx, func(tx *store.Tx) error {
		l.tx, *l.res = tx, so
		tx.Begin(s.verb, l.file, l.Who)
		for _, row := range rows {
			if err := l.one(row, s.enter); err != nil {
				return err
			}
		}
		if so.DryRun {
			return errDry
		}
		return nil
	})
	if errors.Is(err, errDry) {
		err = nil
	}
	return err
}

// one enters a row, or nothing of it; what is wrong with it stops nothing else.
func (l *listReader) one(row ingest.ListRow, enter func(*listReader, ingest.ListRow) error) error {
	so := *l.res
	err := l.tx.Try(func() error { return enter(l, row) })
	if err != nil {
		*l.res = so
	}
	var bad wrongRow
	var hinted interface{ Hint() string }
	switch {
	case errors.As(err, &bad):
		l.wrong(ingest.BadRow(bad))
		return nil
	case errors.As(err, &hinted):
		l.wrong(row.Wrong("", "%v", err))
		return nil
	}
	return err
}

func (l *listReader) wrong(bad ingest.BadRow) {
	l.res.Wrong = append(l.res.Wrong, l.file+": "+bad.String())
}

// wrongRow is a row that is refused.
type wrongRow ingest.BadRow

// Error names the place and the reason.
func (w wrongRow) Error() string { return ingest.BadRow(w).String() }

func wrongCell(row ingest.ListRow, column, format string, args ...any) error {
	return wrongRow(row.Wrong(column, format, args...))
}

// changed notes what a row changes: nothing where before and after are the same.
func (l *listReader) changed(name string, before, after []string) bool {
	var says []string
	for i := range after {
		if before[i] != after[i] {
			says = append(says, after[i])
		}
	}
	return l.differs(name, says)
}

// differs notes what a row changes.
func (l *listReader) differs(name string, says []string) bool {
	if len(says) == 0 {
		l.res.Same++
		return false
	}
	l.res.Changed++
	l.res.Says = append(l.res.Says, name+": "+strings.Join(says, ", "))
	return true
}

func (l *listReader) added(line string) {
	l.res.Added++
	l.res.New = append(l.res.New, line)
}

// endOfDay is the end of a day of the calendar, or now where that is not over.
func (l *listReader) endOfDay(day time.Time) (wear.Instant, error) {
	zone := l.tx.Zone()
	at := wear.StartOfDay(day.Year(), day.Month(), day.Day()+1, zone) - 1
	if at > wear.EndOfDay(l.Now, zone) {
		return 0, errors.New("is in the future")
	}
	return min(at, wear.At(l.Now)), nil
}
