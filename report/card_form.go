package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode"

	"pawl/wear"
)

// CardForm is a job card as it was filled in. What was left as it was printed
// is empty.
type CardForm struct {
	Bike string    `toml:"bike"`
	On   string    `toml:"on"` // the day of the work, as typed; empty = the day on which it is entered
	By   string    `toml:"by"`
	Jobs []CardJob `toml:"job"`
}

// CardJob is one job of a form. A reading and a look are facts in themselves,
// whether the job is done or not.
type CardJob struct {
	Part     string `toml:"part"`
	Job      string `toml:"job"`
	Done     bool   `toml:"done"`
	Declined bool   `toml:"declined"`
	Torque   string `toml:"torque"`  // as [wear.ParseTorque] reads it; empty = none was set
	Minutes  int    `toml:"minutes"` // 0 = not noted
	Cost     string `toml:"cost"`    // as typed
	Note     string `toml:"note"`
	Reading  string `toml:"reading"` // as typed
	Tool     string `toml:"tool"`
	Look     string `toml:"look"`  // a [wear.Word], or empty
	Model    string `toml:"model"` // of the new part, where one was fitted
}

// Says reports whether the job's table enters anything.
func (j CardJob) Says() bool { return j.Done || j.Declined || j.Reading != "" || j.Look != "" }

// Filled are the jobs of the form that enter something.
func (f CardForm) Filled() []CardJob {
	var out []CardJob
	for _, j := range f.Jobs {
		if j.Says() {
			out = append(out, j)
		}
	}
	return out
}

// WriteCardForm writes the job card of a bike as a TOML file to fill in, which
// [ReadCardForm] reads: the same jobs in the same order. Names are written so
// that they read back as they are.
func WriteCardForm(w io.Writer, c CardPage, s Style) error {
	f := &formFile{}
	f.comment("The job card of " + brief(c.Bike.Name, longName) + " as of " + s.fullDay(c.Today) + ". Fill it in, then: pawl signoff --card FILE.toml")
	f.comment("What is left as it is enters nothing. A reading or a look counts without done = true.")
	f.key("bike", tomlString(c.Bike.Name), "")
	f.key("on", `""`, "the day of the work, as 2026-05-14; empty: the day on which it is entered")
	f.key("by", `""`, "who did it")
	for i, job := range c.jobs() {
		f.buf.WriteByte('\n')
		f.job(i+1, job)
	}
	f.buf.WriteByte('\n')
	f.comment("Other work that was done: copy a [[job]] with all its lines and name its part and its job.")
	f.comment(wear.Caution + ".")
	_, err := w.Write(f.buf.Bytes())
	return err
}

// formFile collects the lines of a form.
type formFile struct{ buf bytes.Buffer }

func (f *formFile) comment(text string) { f.buf.WriteString("# " + clean(text) + "\n") }

// key adds a key, its value as TOML writes it, and what the line wants.
func (f *formFile) key(name, value, wants string) {
	line := name + " = " + value
	if wants != "" {
		line = fmt.Sprintf("%-17s # %s", line, clean(wants))
	}
	f.buf.WriteString(line + "\n")
}

// job adds the table of one job: the lines that every job has, then those that
// its sort of work asks for.
func (f *formFile) job(n int, job *wear.Finding) {
	f.comment(fmt.Sprintf("%d. %s: %s", n, job.Verdict.Words(), brief(job.Title, longName*2)))
	if job.Verdict == wear.Stop && job.Clears != "" {
		f.comment("To clear it: " + brief(job.Clears, longAdvice))
	}
	f.buf.WriteString("[[job]]\n")
	f.key("part", tomlString(job.Part), "")
	f.key("job", tomlString(job.Job), "")
	f.key("done", "false", "true once it is done")
	f.key("declined", "false", "true where it was offered and not wanted")
	if torqued(job) {
		f.key("torque", `""`, `that was set, with its unit: "8 Nm" or "70 in·lb"; `+cardTorque(job))
	}
	if of := asked(job); of != "" {
		f.key("reading", `""`, readingWanted(of))
		f.key("tool", `""`, strings.Join(wear.Tools, " or ")+"; what a gauge says: pawl measure --drops-in … --stays-out …")
	}
	if seen(job) {
		f.key("look", `""`, "good, watch, replace or unsafe")
	}
	if job.Act == wear.ActChange {
		f.key("model", `""`, "what the maker calls the new part; empty: as the old one")
	}
	f.key("minutes", "0", "that it took"+usually(job.Minutes))
	f.key("cost", `""`, `as "24.50"`)
	f.key("note", `""`, "")
}

// seen reports whether a job asks for what an eye or a hand says of the part.
func seen(f *wear.Finding) bool {
	return f.Act == wear.ActLook || f.Act == wear.ActCheck && !torqued(f)
}

func usually(minutes int) string {
	if minutes == 0 {
		return ""
	}
	return fmt.Sprintf("; usually %d", minutes)
}

func readingWanted(of wear.ReadingOf) string {
	if of == wear.Elongation {
		return `"0.62%", or length over pitches: "306.4mm/24"`
	}
	return fmt.Sprintf(`the %s, as "1.8mm"`, of)
}

// tomlString is a basic string of TOML 1.0 with all that cannot be seen escaped.
func tomlString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r > 0xffff && !unicode.IsPrint(r):
			fmt.Fprintf(&b, `\U%08x`, r)
		case !unicode.IsPrint(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
