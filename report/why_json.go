package report

import (
	"io"

	"pawl/wear"
)

type anchorJSON struct {
	At    *string `json:"at"`
	Why   string  `json:"why"`
	First bool    `json:"first"`
}

type groundJSON struct {
	Ground string   `json:"ground"`
	Rides  int64    `json:"rides"`
	Amount *float64 `json:"amount"`
	Factor *float64 `json:"factor"`
	Used   *float64 `json:"used"`
}

type countJSON struct {
	By      string       `json:"by"`
	Unit    string       `json:"unit"`
	Since   *string      `json:"since"` // null = the bike's first ride
	Used    *float64     `json:"used"`
	Limit   *float64     `json:"limit"`
	Share   *float64     `json:"share"`
	Data    string       `json:"data"`
	Decides bool         `json:"decides"`
	Formula *string      `json:"formula"`
	Grounds []groundJSON `json:"grounds"`
}

type stayJSON struct {
	Bike      *string   `json:"bike"`
	From      *string   `json:"from"`
	To        *string   `json:"to"`
	Opening   loadJSON  `json:"opening"`
	Total     totalJSON `json:"total"`
	Estimated []string  `json:"estimated"`
}

type readingJSON struct {
	At       *string    `json:"at"`
	Of       string     `json:"of"`
	Value    *float64   `json:"value"`
	Tool     *string    `json:"tool"`
	Which    *string    `json:"which"`
	Length   *float64   `json:"length"` // mm
	Pitches  int        `json:"pitches"`
	Places   []*float64 `json:"places"` // as value; none where it was one place
	Gauge    *gaugeJSON `json:"gauge"`
	Plate    *float64   `json:"plate"` // mm, taken off the lining
	Note     *string    `json:"note"`
	Doubtful bool       `json:"doubtful"`
	Void     bool       `json:"void"`
}

// gaugeJSON has the ends of a gauge in per cent; null = none told.
type gaugeJSON struct {
	In     *float64 `json:"drops_in"`
	Out    *float64 `json:"stays_out"`
	Points int      `json:"points"` // 0 = not said
}

type lookJSON struct {
	At   *string `json:"at"`
	Word string  `json:"word"`
	By   *string `json:"by"`
	Note *string `json:"note"`
	Void bool    `json:"void"`
}

type signOffJSON struct {
	At       *string  `json:"at"`
	Job      string   `json:"job"`
	By       *string  `json:"by"`
	Torque   *float64 `json:"torque"`  // N·m
	Cost     *float64 `json:"cost"`    // of the book's currency
	Minutes  *float64 `json:"minutes"` // of work
	Declined bool     `json:"declined"`
	Note     *string  `json:"note"`
	Void     bool     `json:"void"`
}

type recentJSON struct {
	Days   *float64 `json:"days"`
	Used   *float64 `json:"used"`
	PerDay *float64 `json:"per_day"`
	Unit   *string  `json:"unit"`
	Last   *string  `json:"last"`
}

// pastJSON is what tools, eyes and hands said of a part.
type pastJSON struct {
	Readings []readingJSON `json:"readings"`
	Looks    []lookJSON    `json:"looks"`
	SignOffs []signOffJSON `json:"signoffs"`
}

type whyJSON struct {
	envelope
	Today   *string     `json:"today"`
	Finding findingJSON `json:"finding"`
	Title   string      `json:"title"`
	Rule    string      `json:"rule"`
	Reasons []string    `json:"reasons"`
	Notes   []string    `json:"notes"`
	Anchor  anchorJSON  `json:"anchor"`
	Counts  []countJSON `json:"counts"`
	Stays   []stayJSON  `json:"stays"`
	Life    loadJSON    `json:"life"`
	pastJSON
	Recent   recentJSON    `json:"recent"`
	Forecast *forecastJSON `json:"forecast"` // null where nothing can be measured
	Method   string        `json:"method"`
	How      []string      `json:"how"`
	Changes  []string      `json:"changes"`
	Rides    []rideJSON    `json:"rides"`
	Earlier  int           `json:"earlier_rides"`
}

// WhyJSON writes how a figure came about as one JSON object.
func WhyJSON(w io.Writer, d WhyPage, s Style) error {
	e := &d.Explanation
	out := whyJSON{
		envelope: enclose(d.Warnings), Today: isoDay(d.Today, s.zone()), Finding: s.findingJSON(&e.Finding),
		Title: e.Finding.Title, Rule: e.Rule, Reasons: []string{}, Notes: list(e.Finding.Notes),
		Anchor: anchorJSON{isoTime(e.Anchor.At, s.zone()), e.Anchor.Why, e.Anchor.First},
		Counts: countsJSON(e.Counts, isoTime(e.Anchor.At, s.zone())), Stays: []stayJSON{}, Life: loadOf(e.Life, 0),
		pastJSON: s.pastJSON(e.Readings, e.Looks, e.SignOffs), Recent: s.recentJSON(e.Recent),
		Forecast: s.forecastJSON(e.Forecast), Method: e.Method, How: list(e.How), Changes: list(e.Changes), Rides: []rideJSON{}, Earlier: d.Earlier,
	}
	if r, ok := lastRead(e); ok {
		out.Counts = countsJSON(e.Counts, isoTime(r.At, s.zone()))
	}
	for _, r := range e.Finding.Reasons {
		out.Reasons = append(out.Reasons, r.Text)
	}
	for _, st := range e.Stays {
		out.Stays = append(out.Stays, s.stayJSON(StayLine{st.Stay, d.Bikes[st.Stay.Host], st.Sum}))
	}
	for _, r := range d.Rides {
		out.Rides = append(out.Rides, s.rideJSON(r))
	}
	return writeJSON(w, out)
}

func countsJSON(counts []wear.CountLine, since *string) []countJSON {
	out := make([]countJSON, len(counts))
	for i, c := range counts {
		grounds := make([]groundJSON, len(c.Grounds))
		for k, g := range c.Grounds {
			grounds[k] = groundJSON{
				g.Ground.String(), g.Rides, figureOf(g.Amount, 4), figureOf(g.Factor, 4), figureOf(g.Used, 4),
			}
		}
		out[i] = countJSON{
			By: c.By, Unit: c.Unit, Since: since, Used: figureOf(c.Used, 4), Limit: positive(c.Limit), Share: figureOf(c.Share, 4),
			Data: string(c.Data), Decides: c.Decides, Formula: textOf(c.Formula), Grounds: grounds,
		}
	}
	return out
}

func (s Style) stayJSON(l StayLine) stayJSON {
	return stayJSON{
		Bike: textOf(l.Bike), From: isoTime(l.Stay.From, s.zone()), To: isoTime(l.Stay.To, s.zone()),
		Opening: loadOf(l.Stay.Opening, 0), Total: totalOf(l.Total), Estimated: estimated(l.Total.Estimated),
	}
}

func (s Style) pastJSON(readings []wear.Reading, looks []wear.Look, signoffs []wear.SignOff) pastJSON {
	out := pastJSON{[]readingJSON{}, []lookJSON{}, []signOffJSON{}}
	for _, r := range readings {
		out.Readings = append(out.Readings, s.readingJSON(r))
	}
	for _, l := range looks {
		out.Looks = append(out.Looks, lookJSON{
			isoTime(l.At, s.zone()), string(l.Word), textOf(l.By), textOf(l.Note), l.Void,
		})
	}
	for _, o := range signoffs {
		out.SignOffs = append(out.SignOffs, signOffJSON{
			At: isoTime(o.At, s.zone()), Job: o.Job, By: textOf(o.By), Torque: positive(o.Torque),
			Cost: positive(float64(o.Cost) / 100), Minutes: positive(float64(o.Minutes)),
			Declined: o.Declined, Note: textOf(o.Note), Void: o.Void,
		})
	}
	return out
}

func (s Style) readingJSON(r wear.Reading) readingJSON {
	out := readingJSON{
		At: isoTime(r.At, s.zone()), Of: string(r.Of), Value: figureOf(r.Value, 4), Tool: textOf(r.Tool), Which: textOf(r.Which),
		Length: positive(r.Length), Pitches: r.Pitches, Places: make([]*float64, len(r.Places)),
		Plate: positive(r.Plate), Note: textOf(r.Note), Doubtful: r.Doubtful, Void: r.Void,
	}
	for i, v := range r.Places {
		out.Places[i] = figureOf(v, 4)
	}
	if g := r.Gauge; g != nil {
		out.Gauge = &gaugeJSON{positive(g.In), positive(g.Out), g.Points}
	}
	return out
}

func (s Style) recentJSON(r wear.Recent) recentJSON {
	if r.Unit == "" || r.Days == 0 {
		return recentJSON{Last: isoTime(r.Last, s.zone())}
	}
	return recentJSON{
		figureOf(r.Days, 2), figureOf(r.Used, 4), figureOf(r.PerDay, 4), textOf(r.Unit), isoTime(r.Last, s.zone()),
	}
}

// positive is a figure where 0 means not given.
func positive(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return figureOf(v, 4)
}
