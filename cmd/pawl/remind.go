package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/wneessen/go-mail"

	"pawl/cmd/internal/config"
	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// remindFlags say what to do about reminders.
type remindFlags struct {
	send, status, templates bool
	toDir, every, config    string
	out                     outputFlags
}

func (a *app) remindCmd() *cobra.Command {
	var f remindFlags
	cmd := &cobra.Command{
		Use:   "remind [PERSON]",
		Short: "Tell people what is due on their bikes, by mail",
		Long: `Shows what would be sent to whom; --send sends it. Everyone who agreed gets one
message about all their bikes, at most one in --every; what was told is told again
only when it gets worse or a month has passed, and a stop goes out at once. A planned
visit silences what it will do. Messages are stored before they are sent: whatever
breaks, none is lost, and --status tells how far each has come. --to-dir writes
messages and calendars as files instead, for a shop that sends by other means, and
counts them as sent.

The shop and its mail server are set in a config file ($PAWL_CONFIG, else
pawl/config.toml in the user's config folder), the password in $PAWL_MAIL_PASSWORD or
a file of mode 0600:

  [shop]
  name = "Trail Centre Workshop"
  from = "workshop@example.org"
  stop_mail = "stop@example.org"

  [mail]
  host = "mail.example.org"
  port = 587
  tls = "starttls"
  user = "workshop"
  password_file = "/etc/pawl/password"`,
		Example: `  pawl remind
  pawl remind "Kim Doe" --json
  pawl remind --to-dir outgoing
  pawl remind --status
  pawl remind --templates`,
		Args: args(0, 1),
		RunE: func(cmd *cobra.Command, words []string) error { return a.remind(cmd, optional(words), f) },
	}
	cmd.Flags().BoolVar(&f.send, "send", false, "send what is to be sent, and what waits in the outbox")
	cmd.Flags().BoolVar(&f.status, "status", false, "how far each message has come")
	cmd.Flags().BoolVar(&f.templates, "templates", false, "print the wording, to be replaced by files of your own (templates = \"DIR\" in the config)")
	cmd.Flags().StringVar(&f.toDir, "to-dir", "", "write messages and calendars into a folder instead of sending")
	cmd.Flags().StringVar(&f.every, "every", "14d", "at most one message per person in this time")
	cmd.Flags().StringVar(&f.config, "config", "", "the config file")
	f.out.addList(cmd)
	exclusive(cmd, "send", "to-dir", "status", "templates")
	return cmd
}

// remindGarbage is how much garbage, in per cent of what is in use, may lie while a
// shop's bikes are judged: the run is short and collecting would take a tenth of it.
const remindGarbage = 400

func (a *app) remind(cmd *cobra.Command, who string, f remindFlags) error {
	defer debug.SetGCPercent(debug.SetGCPercent(remindGarbage))
	if countGiven(cmd, "json", "csv", "rows", "page") > 0 && countGiven(cmd, "send", "to-dir", "templates") > 0 {
		return &desk.MistakeError{Msg: "--json, --csv, --rows and --page are of what is shown", Tip: "pawl remind --json, pawl remind --status --csv"}
	}
	if f.status && who != "" {
		return &desk.MistakeError{Msg: "--status tells of everybody", Tip: "pawl remind --status --csv"}
	}
	if f.templates {
		return a.printTemplates()
	}
	d, err := a.desk(cmd)
	if err != nil {
		return err
	}
	if f.status {
		return a.outbox(cmd, d, f)
	}
	c, err := a.config(f.config)
	if err != nil {
		return err
	}
	req, err := a.remindRequest(c, who, f)
	if err != nil {
		return err
	}
	switch {
	case f.send:
		return a.sendReminders(cmd, d, c, req)
	case f.toDir != "":
		return a.writeReminders(cmd, d, c, req, f.toDir)
	}
	return a.showReminders(cmd, d, req, f)
}

// config reads the config file: the one given, which must be there, that of
// $PAWL_CONFIG, or the user's own.
func (a *app) config(given string) (config.Config, error) {
	if given != "" {
		if _, err := os.Stat(given); err != nil {
			return config.Config{}, err
		}
		return config.Load(given)
	}
	return config.Load(config.DefaultPath(a.env("PAWL_CONFIG")))
}

// remindRequest says how reminders are decided on and written. The wording is
// read first: a broken one is found before anything is stored.
func (a *app) remindRequest(c config.Config, who string, f remindFlags) (req desk.RemindRequest, err error) {
	every, err := desk.ParseDays("every", f.every)
	if err != nil {
		return req, err
	}
	var own fs.FS
	if c.Templates != "" {
		own = os.DirFS(c.Templates)
	}
	wording, err := report.ParseTemplates(own)
	if err != nil {
		return req, err
	}
	return desk.RemindRequest{
		Who: who, From: c.Shop.From,
		Rules: wear.RemindRules{Every: wear.Instant(every) * wear.Day, Again: 30 * wear.Day},
		Write: func(l desk.Letter) (m wear.Message, err error) {
			r := report.Reminder{Shop: report.Shop(c.Shop), Person: l.Person, Findings: l.Findings, Visits: l.Visits, Today: l.Today, Zone: l.Zone}
			if m.Subject, m.Text, m.HTML, err = wording.Compose(r); err != nil {
				return m, err
			}
			m.Calendar, err = a.calendarOf(l, c.Shop.Name)
			return m, err
		},
	}, nil
}

// calendarOf is the calendar that goes with a message; none where nothing has a date.
func (a *app) calendarOf(l desk.Letter, name string) (string, error) {
	var text strings.Builder
	o := report.CalendarOptions{Name: name, Now: a.now, Zone: l.Zone, Imperial: l.Person.Imperial}
	if err := report.Calendar(&text, l.Findings, o); err != nil && !errors.Is(err, report.ErrNoDates) {
		return "", err
	}
	return text.String(), nil
}

func (a *app) showReminders(cmd *cobra.Command, d *desk.Desk, req desk.RemindRequest, f remindFlags) error {
	list, err := d.Reminders(cmd.Context(), req)
	if err != nil {
		return err
	}
	lines := make([]report.ReminderLine, len(list))
	for i, r := range list {
		lines[i] = report.ReminderLine{Name: r.Person.Name, Email: r.Person.Email, Bikes: r.Bikes, Findings: r.Told, Why: r.Why}
	}
	switch {
	case f.out.json:
		return report.RemindersJSON(a.out, lines)
	case f.out.csv:
		return report.RemindersCSV(a.out, lines)
	}
	return report.Reminders(a.out, lines, f.out.style(cmd.Context(), a, d))
}

func (a *app) sendReminders(cmd *cobra.Command, d *desk.Desk, c config.Config, req desk.RemindRequest) error {
	if err := report.Shop(c.Shop).Check(); err != nil {
		return badShop(err)
	}
	poster, err := a.mailer(c)
	if err != nil {
		return err
	}
	defer poster.Close()
	if _, err := d.QueueReminders(cmd.Context(), req); err != nil {
		return err
	}
	res, err := d.SendOutbox(cmd.Context(), poster, a.clock)
	fmt.Fprintf(a.out, "%s sent, %d to be tried again, %d refused, %d withdrawn\n",
		report.Count(res.Accepted, "message"), res.Later, res.Rejected, res.Withdrawn)
	for _, note := range []struct {
		n    int
		text string
	}{{res.Twice, "perhaps sent twice: pawl remind --status"}, {res.Left, "not tried: pawl remind --send goes on"}} {
		if note.n > 0 {
			fmt.Fprintf(a.err, "note: %s %s\n", report.Count(note.n, "message"), note.text)
		}
	}
	if err == nil && res.Rejected > 0 {
		err = statusError(exitFailed)
	}
	return err
}

// mailer is the way to the mail server that the config names.
func (a *app) mailer(c config.Config) (*desk.Mailer, error) {
	if err := c.CanSend(); err != nil {
		return nil, err
	}
	password, err := c.Mail.ReadPassword(a.env("PAWL_MAIL_PASSWORD"))
	if err != nil {
		return nil, err
	}
	shop := report.Shop(c.Shop)
	return desk.NewMailer(desk.MailerOptions{
		Mail: c.Mail, Password: password, From: shop.From,
		Make: func(m wear.Message) (*mail.Msg, error) { return report.Mail(m, shop, m.At.Time()) },
	})
}

func (a *app) writeReminders(cmd *cobra.Command, d *desk.Desk, c config.Config, req desk.RemindRequest, dir string) error {
	if err := report.Shop(c.Shop).Check(); err != nil {
		return badShop(err)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	n, err := d.WriteOutbox(cmd.Context(), req, func(m wear.Message) error { return writeMessage(dir, m, report.Shop(c.Shop)) })
	if n > 0 || err == nil {
		fmt.Fprintf(a.out, "%s written to %s\n", report.Count(n, "message"), oneLine(dir))
	}
	return err
}

// badShop says where what is wrong with the shop is set.
func badShop(err error) error {
	return &desk.RefusalError{Msg: err.Error(), Tip: "set it under [shop] in the config file: pawl remind --help shows one"}
}

// writeMessage writes a message and its calendar.
func writeMessage(dir string, m wear.Message, shop report.Shop) error {
	name := filepath.Join(dir, fmt.Sprintf("%s-%.16s", m.At.Time().Format(time.DateOnly), m.MessageID))
	var mail bytes.Buffer
	if err := report.WriteEML(&mail, m, shop, m.At.Time()); err != nil {
		return err
	}
	if err := writeOnce(name+".eml", mail.Bytes()); err != nil || m.Calendar == "" {
		return err
	}
	return writeOnce(name+".ics", []byte(m.Calendar))
}

// writeOnce writes a file that is not there yet, or is already as it is to be:
// an interrupted run is taken up again.
func writeOnce(path string, data []byte) error {
	if there, err := os.ReadFile(path); err == nil {
		if bytes.Equal(there, data) {
			return nil
		}
		return &desk.RefusalError{Msg: fmt.Sprintf("file %q: is there and says something else", path), Tip: "name another folder with --to-dir"}
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".part-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // where it was not renamed
	_, err = f.Write(data)
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

func (a *app) outbox(cmd *cobra.Command, d *desk.Desk, f remindFlags) error {
	list, err := d.Outbox(cmd.Context())
	if err != nil {
		return err
	}
	lines := make([]report.OutboxLine, len(list))
	for i, m := range list {
		lines[i] = report.OutboxLine(m)
	}
	style := f.out.style(cmd.Context(), a, d)
	switch {
	case f.out.json:
		return report.OutboxJSON(a.out, lines, style)
	case f.out.csv:
		return report.OutboxCSV(a.out, lines, style)
	}
	return report.Outbox(a.out, lines, style)
}

// printTemplates prints the shipped wording, each file under its name.
func (a *app) printTemplates() error {
	shipped := report.ShippedTemplates()
	return fs.WalkDir(shipped, ".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := fs.ReadFile(shipped, path)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(a.out, "==> %s <==\n%s\n", path, text)
		return err
	})
}
