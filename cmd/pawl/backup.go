package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) backupCmd() *cobra.Command {
	var o desk.BackupOptions
	cmd := &cobra.Command{
		Use:   "backup FILE",
		Short: "Write a compact, checked copy of the book",
		Long: `Writes a copy of the book as it is at one moment, without the room that old pages
take, and compares it with the book before it gets its name. Others may look at the
book meanwhile; whoever writes waits. With --originals the ride files as they were
received are copied too, into the folder FILE.originals; without, a copy holds what
pawl read from them, not the files. What is cut short leaves nothing, and with
--force what was there as it was.

To put a copy back, while no pawl runs: copy FILE to the book's place (--book,
else $PAWL_BOOK, else the data folder), and FILE.originals to that name with
.originals behind it. A copy is a book like any other: pawl --book FILE due.
People who were forgotten since are in it still.`,
		Example: "  pawl backup monday.book\n  pawl backup monday.book --originals --force",
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			r, err := d.Backup(cmd.Context(), words[0], o)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string {
				text := fmt.Sprintf("%s written and compared: %s rows, %s (the book has %s)", words[0], wear.Thousands(float64(r.Rows)), report.Bytes(r.After), report.Bytes(r.Before))
				if o.Originals {
					text += fmt.Sprintf("; %s of ride files", report.Bytes(r.PackBytes))
				}
				return text
			})
		},
	}
	cmd.Flags().BoolVar(&o.Originals, "originals", false, "the ride files as they were received too")
	cmd.Flags().BoolVar(&o.Force, "force", false, "write over a file that is there")
	return cmd
}
