package season

import (
	"cmp"
	"context"
	"encoding/base64"
	"encoding/csv"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"maps"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/validate"
)

// Options of Of and Make.
type Options struct {
	Audience    share.Audience          // empty: Show
	Permissions []string                // landowner: the own land, as in share
	Receiver    string                  // the person or body that it is for, as in share
	Policy      *share.Policy           // the finder's own, as in share
	Title       string                  // what stands above, such as the name of a club
	Year        string                  // only finds and outings of this year; empty: all
	Best        []string                // numbers of the finds to show; empty: those of which most is known
	Places      bool                    // draw a plan of each field from what the reports hold
	Language    string                  // of labels and words; empty: en
	Tool        string                  // name and version of the program
	Day         string                  // that counts as today, ISO 8601
	Pictures    map[string]template.URL // by their names in the reports, to be shown; of Make only
	// Register has what was told before of the finds of a log; nil: nothing was
	Register func(log string) *register.Register
	Due      []Open // time limits that were counted elsewhere; of Make only

	unsafe map[string]bool   // ids of finds of which a rule of safety speaks: they are no exhibits
	labels map[string]string // by id in a copy: the finder's number, else name
	held   [][]*find.Find    // finds of each log that are not counted: an outing of theirs alone is not either
}

// pictureSide is the longer side of a picture on the page, in pixels.
const pictureSide = 640

// Show is for whoever a season is shown to: a public copy, with the pictures that a club would be given where pictures
// are asked for, and without the numbers and places of its finds; and sums of the logs over those finds: months, hours,
// depths in bands, and how far detectors were out.
const Show share.Audience = "show"

// Made is a season and what is to be said of it.
type Made struct {
	*Season
	Left   int             // finds that the audience may not see
	Out    []share.LeftOut // which those are and why, for the owner alone
	Due    int             // time limits that are open; told on the page only to yourself, a partner and a recorder
	Held   []share.Span    // words that were withheld, for something would have leaked in them
	Unread int             // entries that could not be read

	sources []source // to show: the logs, with their copies
	shared  []*pipeline.Shared
	hidden  map[string]bool // ids of finds that a log keeps out of what is shown
	unsafe  map[string]bool // ids of finds of which a rule of safety speaks
}

// Of reads logs of any format and works a season out of what the audience may see of them. Pictures are taken from
// pipeline.Options.Files.
func Of(ctx context.Context, names []string, o pipeline.Options, so Options) (*Made, error) {
	so.Audience = cmp.Or(so.Audience, Show)
	if o.Limits.Held == 0 {
		o.Limits.Held = 4 * limit.Limits{}.WithDefaults().Held // only what is counted is held
	}
	so.Places = exact(so.Audience)
	so.Pictures = map[string]template.URL{}
	m := Made{hidden: map[string]bool{}, unsafe: map[string]bool{}}
	defer func() {
		for _, r := range m.shared {
			r.Close()
		}
	}()
	so.unsafe, so.labels = map[string]bool{}, map[string]string{}
	var reports []*find.Report
	var backs []map[string]string
	for _, name := range names {
		r, back, err := m.copyOf(ctx, name, o, &so)
		if err != nil {
			return nil, err
		}
		reports, backs = append(reports, r), append(backs, back)
		if err := m.due(ctx, name, o, &so); err != nil {
			return nil, err
		}
	}
	// One find in two logs counts once: ids of copies differ, those of the owner do not. What one log keeps out, another
	// does not tell.
	ids := map[string]int{} // by id of the owner: the log that it stands in, from 1
	for i, r := range reports {
		r.Finds = slices.DeleteFunc(r.Finds, func(f *find.Find) bool {
			id := cmp.Or(backs[i][f.ID], f.ID)
			twice := id != "" && ids[id] > 0 && ids[id] != i+1 || m.hidden[id]
			ids[id], so.unsafe[f.ID] = i+1, m.unsafe[id]
			return twice
		})
	}
	m.Season = Make(reports, so)
	if so.Audience == Show {
		if err := m.figures(ctx, reports, so); err != nil {
			return nil, err
		}
	}
	return &m, nil
}

// counted leaves of a find what a season counts, names or draws: of a long log the rest is more than can be held.
func counted(f *find.Find) {
	f.Description, f.Notes, f.Value, f.StoragePlace, f.Storage = "", "", "", "", ""
	f.OtherPositions, f.OtherDatings, f.OtherNumbers, f.Opinions, f.Custody, f.Owners = nil, nil, nil, nil, nil, nil
	f.Traces, f.Technique, f.Coating, f.SensitivityReasons, f.Source = nil, nil, nil, nil, nil
	maps.DeleteFunc(f.Columns, func(heading, _ string) bool { return tripOf(heading) == "" })
	f.Supplied, f.Absent, f.Generalised, f.Extensions, f.Unknown, f.Weight = nil, nil, nil, nil, nil, nil
}

// toShow leaves of a find of a copy what a season to show names or counts, which is all that has to be looked through.
func toShow(f *find.Find) {
	counted(f)
	f.Position, f.Depth, f.OtherDepths, f.Place, f.Layer, f.Signal, f.Use, f.Lot = nil, nil, nil, nil, nil, nil, nil, nil
	f.Marks, f.Hazards, f.Associated, f.Replaces = f.Marks[:min(len(f.Marks), 1)], nil, nil, nil
}

// exact reports whether an audience sees exact places, so that a plan can be drawn.
func exact(a share.Audience) bool {
	return a == share.Self || a == share.Partner || a == share.Landowner || a == share.Recorder
}

// copyOf makes the copy of a log that the season is worked out of. It is held to the leak check as every copy is.
func (m *Made) copyOf(ctx context.Context, name string, o pipeline.Options, so *Options) (*find.Report,
	map[string]string, error) {
	if so.Audience == share.Self {
		r, err := pipeline.CollectPart(ctx, name, o, counted)
		if err == nil {
			trips(r)
			err = so.own(ctx, r, o)
		}
		return r, nil, err
	}
	o.To = pipeline.Findslip
	s := pipeline.ShareOptions{HoldBack: true}
	s.Audience, s.Permissions, s.Receiver, s.Policy, s.Day = so.Audience, so.Permissions, so.Receiver, so.Policy, so.Day
	if so.Register != nil {
		s.Register = so.Register(name)
	}
	if so.Audience == Show {
		s.Audience, s.Cut = share.Public, toShow
	} else if o.Files != nil {
		s.SavePicture = func(name string, data []byte) error { return so.show(ctx, name, data, o.Limits) }
	}
	r, err := pipeline.Share(ctx, name, o, s)
	if err != nil {
		return nil, nil, err
	}
	m.shared = append(m.shared, r)
	if len(r.Leaks)+len(r.Unlooked) > 0 {
		return nil, nil, fmt.Errorf("%s: what the page would say cannot be vouched for; findslip share %s --for %s says why",
			name, name, s.Audience)
	}
	m.Left += r.Left
	m.Out = append(m.Out, r.Copy.Out...)
	m.Unread += r.Unread
	m.Held = append(m.Held, r.HeldBack...)
	if err := r.Copy.Whole(ctx); err != nil {
		return nil, nil, err
	}
	for id := range r.Copy.Hidden() {
		m.hidden[id] = true
	}
	for _, f := range r.Copy.Report.Finds {
		so.labels[f.ID] = r.Copy.Label(f) // by which the finder asks for it
		if so.Audience == share.Public || so.labels[f.ID] == f.Name {
			f.Number = "" // made for the copy: other in each
		}
	}
	if so.Audience == Show {
		own, err := pipeline.CollectPart(ctx, name, o, counted)
		if err != nil {
			return nil, nil, err
		}
		trips(own)
		m.sources = append(m.sources, source{own, r})
	}
	if so.Audience == Show && o.Files != nil {
		err = so.clubPictures(ctx, name, o, s, r.Copy)
	}
	return r.Copy.Report, r.Copy.Back, err
}

// clubPictures takes the pictures that a club would be given: a public copy has none, and whoever asks for pictures
// on a page to show wants to see the things.
func (so *Options) clubPictures(ctx context.Context, name string, o pipeline.Options, s pipeline.ShareOptions,
	out *share.Copied) error {
	s.Audience, s.Register = share.Club, nil
	s.SavePicture = func(name string, data []byte) error { return so.show(ctx, name, data, o.Limits) }
	r, err := pipeline.Share(ctx, name, o, s)
	if err != nil {
		return err
	}
	defer r.Close()
	media := map[string][]find.Media{}
	err = r.Copy.Each(ctx, func(f *find.Find) error {
		media[r.Copy.Back[f.ID]] = f.Media
		return nil
	})
	if len(r.Leaks)+len(r.Unlooked) > 0 {
		return err // words of the rest, of which nothing is taken; but pictures of it are not either
	}
	for _, f := range out.Report.Finds {
		for _, one := range media[out.Back[f.ID]] {
			f.Media = append(f.Media, find.Media{File: one.File})
		}
	}
	return err
}

// own takes the pictures of a report that is not copied.
func (so *Options) own(ctx context.Context, r *find.Report, o pipeline.Options) error {
	if o.Files == nil {
		return nil
	}
	for _, f := range r.Finds {
		for _, one := range f.Media {
			clean := path.Clean(one.File)
			if !fs.ValidPath(clean) {
				continue
			}
			file, err := o.Files.Open(clean)
			if err != nil {
				continue // check says that it is not there
			}
			data, err := limit.ReadAll(file, "picture", o.Limits.WithDefaults().Picture)
			file.Close()
			if err == nil {
				err = so.show(ctx, one.File, data, o.Limits)
			}
			if err != nil && ctx.Err() != nil {
				return err
			}
		}
	}
	return nil
}

// show makes a small copy of a picture that says nothing but what is seen on it.
func (so *Options) show(ctx context.Context, name string, data []byte, limits limit.Limits) error {
	small, err := picture.Clean(ctx, data, picture.Options{MaxSide: pictureSide, MaxPixels: limits.WithDefaults().Pixels})
	if err != nil {
		return ctx.Err() // what cannot be made clean is not shown
	}
	kind := map[string]string{".jpg": "jpeg", ".png": "png"}[picture.Extension(small)]
	if kind != "" {
		so.Pictures[name] = template.URL("data:image/" + kind + ";base64," + base64.StdEncoding.EncodeToString(small))
	}
	return nil
}

// due counts the time limits of a log, and lists them for whom they concern.
func (m *Made) due(ctx context.Context, name string, o pipeline.Options, so *Options) error {
	o.Level, o.Brief, o.Files = validate.NoLevel, true, nil
	o.Watch = func(e *find.Entry) error {
		for i := range e.Notices {
			if e.Find != nil && aboutSafety(e.Notices[i].Kind) {
				m.unsafe[e.Find.ID] = true
			}
		}
		return nil
	}
	r, err := pipeline.Check(ctx, name, o)
	if err != nil {
		return err
	}
	if slices.Contains([]share.Audience{share.Public, share.Expert, share.Landowner, share.Club}, so.Audience) {
		return nil
	}
	for i := range r.Summary.Deadlines {
		d := &r.Summary.Deadlines[i]
		if d.Status == notice.DeadlineMet {
			continue
		}
		m.Due++
		if so.Audience != Show {
			so.Due = append(so.Due, Open{Kind: "due", Find: render.Clean(d.Find), Text: render.Clean(d.What),
				Day: d.Day, Past: d.Status == notice.DeadlinePast})
		}
	}
	return nil
}

// aboutSafety reports whether a notice is one of danger to life, of remains, or of the wreck that they may lie in.
func aboutSafety(k *notice.Kind) bool {
	return k.Group == "safety" || strings.HasPrefix(k.Code, "human-remains") || strings.HasPrefix(k.Code, "aircraft")
}

// Band is how many finds of one group of materials lay between two depths in cm; the last has no end.
type Band struct {
	Material string  `json:"material"`
	From     float64 `json:"from"`
	To       float64 `json:"to,omitzero"`
	Finds    int     `json:"finds"`
}

// Trust is how far a detector was out: mean and spread of the measured depth less the guess, in cm, and the share of
// pairs that lay surely deeper.
type Trust struct {
	Detector string  `json:"detector"`
	Pairs    int     `json:"count"`
	Mean     float64 `json:"meanDifference"`
	Spread   float64 `json:"spread"`
	Deeper   float64 `json:"shareDeeper"`
}

// leastShown is how many finds a sum to show is of at the least; mostBands how many bands of depth a material has.
const leastShown, mostBands = 3, 11

// bandStep is the height of a band in cm: 5, or 2 in.
func bandStep(unit string) float64 {
	if unit == "in" {
		return 2 * 2.54
	}
	return 5
}

// source is a log with the copy that was made of it.
type source struct {
	report *find.Report
	shared *pipeline.Shared
}

// figures adds the sums of the logs to a season to show. They are of the finds of the copies; days, depths, fields and
// outings, which the copies do not tell, are used to count and go no further.
func (m *Made) figures(ctx context.Context, copies []*find.Report, so Options) error {
	var reports []*find.Report
	for i, c := range copies {
		own, mine := m.sources[i].report, map[string]*find.Find{}
		for _, f := range own.Finds {
			mine[f.ID] = f
		}
		r := &find.Report{Outings: own.Outings, Permissions: own.Permissions}
		for _, copied := range c.Finds {
			id := m.sources[i].shared.Copy.Back[copied.ID]
			from := mine[id]
			if from == nil {
				continue
			}
			f := *copied
			if f.Found != nil { // where a policy withholds even the quarter, no month is told
				f.Found = from.Found
			}
			f.Place, f.Permission, f.Outing, f.Depth, f.OtherDepths = nil, from.Permission, from.Outing, from.Depth,
				from.OtherDepths
			f.Columns = from.Columns
			r.Finds = append(r.Finds, &f)
			delete(mine, id)
		}
		reports, so.held = append(reports, r), append(so.held, slices.Collect(maps.Values(mine)))
	}
	f := Make(reports, so)
	f.Totals.Finds, f.Totals.Objects = m.Totals.Finds, m.Totals.Objects
	m.Totals, m.Months, m.Outings, m.Unit = f.Totals, toldMonths(copies, f), []Outing{}, f.Unit
	if m.Totals.TimedOut == 1 {
		m.Totals.Hours, m.Totals.TimedFinds, m.Totals.FindsAnHour = 0, 0, 0
	}
	if m.First, m.Last = "", ""; len(m.Months) > 0 {
		last := m.Months[len(m.Months)-1].Month
		m.First, m.Last = m.Months[0].Month[:7], last[len(last)-7:]
	}
	m.bands(f.Depth)
	return m.trust(ctx, f.Guesses)
}

// toldMonths are the months of a season as the copies tell the days of its finds: where they tell the quarter of one,
// all by quarters. Hours of a single outing are told of none.
func toldMonths(copies []*find.Report, f *Season) []Month {
	out, quarters := []Month{}, slices.ContainsFunc(copies, func(r *find.Report) bool {
		return slices.ContainsFunc(r.Finds, func(f *find.Find) bool { return f.Found != nil && len(f.Found.Date) > 7 })
	})
	period := func(day string) string {
		month := monthOf(day)
		if !quarters || month == "" {
			return month
		}
		from := (int(month[5]-'0')*10 + int(month[6]-'0') - 1) / 3 * 3
		return fmt.Sprintf("%s-%02d/%s-%02d", month[:4], from+1, month[:4], from+3)
	}
	for _, m := range f.Months {
		if m.Month = period(m.Month); len(out) == 0 || out[len(out)-1].Month != m.Month {
			out = append(out, Month{Month: m.Month})
		}
		q := &out[len(out)-1]
		q.Finds, q.Outings, q.Nothing = q.Finds+m.Finds, q.Outings+m.Outings, q.Nothing+m.Nothing
		q.Hours = hundredth(q.Hours + m.Hours)
	}
	for i := range out {
		timed := 0
		for _, o := range f.Outings {
			timed += b2i(o.Hours > 0 && period(o.Day) == out[i].Month)
		}
		if timed == 1 {
			out[i].Hours = 0
		}
	}
	return out
}

// bands counts depths by bands, for materials of which there are enough. Plough lines are laid to the edge of a band.
func (m *Made) bands(d Depth) {
	step := bandStep(m.Unit)
	m.Depth = Depth{Groups: []DepthGroup{}, Plough: []Plough{}}
	for _, g := range d.Groups {
		if len(g.Depths) < leastShown {
			continue
		}
		counts := make([]int, min(int((g.Deepest+tolerance)/step)+1, mostBands))
		for _, one := range g.Depths {
			counts[min(int((one.Mid+tolerance)/step), mostBands-1)]++
		}
		for i, n := range counts {
			b := Band{g.Material, tenthousandth(float64(i) * step), tenthousandth(float64(i+1) * step), n}
			if i == mostBands-1 {
				b.To = 0
			}
			m.Bands = append(m.Bands, b)
		}
	}
	for _, l := range d.Plough {
		l = Plough{Depth: tenthousandth(math.Round(l.Depth/step) * step)}
		if len(m.Bands) > 0 && !slices.Contains(m.Depth.Plough, l) {
			m.Depth.Plough = append(m.Depth.Plough, l)
		}
	}
	slices.SortFunc(m.Depth.Plough, func(a, b Plough) int { return cmp.Compare(a.Depth, b.Depth) })
}

// trust sums up what detectors guessed. One whose name tells something of a log has a number in place of it.
func (m *Made) trust(ctx context.Context, guesses []Guess) error {
	for _, g := range guesses {
		if g.Pairs < leastShown {
			continue
		}
		name := strings.TrimSuffix(g.Detector+", "+g.Programme, ", ")
		for _, s := range m.sources {
			tells, err := s.shared.Tells(ctx, name)
			if err != nil {
				return err
			}
			if tells {
				name = wordsOf(m.Language).say("detectorN", "n", itoa(len(m.Trust)+1))
			}
		}
		m.Trust = append(m.Trust, Trust{name, g.Pairs, g.Mean, g.Spread, hundredth(float64(g.Deeper) / float64(g.Pairs))})
	}
	return nil
}

// anonymous takes out of a season to show what ties a figure to one find: numbers and days, and the order, which
// follows them.
func (w *work) anonymous() {
	for i := range w.Best {
		w.Best[i].Find = ""
	}
	if len(w.options.Best) == 0 {
		slices.SortFunc(w.Best, func(a, b Best) int {
			return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.Material, b.Material), cmp.Compare(a.Age, b.Age),
				cmp.Compare(a.Picture, b.Picture))
		})
	}
	for i := range w.Open {
		w.Open[i].Find, w.Open[i].Day = "", ""
	}
	w.Open = slices.DeleteFunc(w.Open, func(o Open) bool { return o.Name == "" })
	slices.SortStableFunc(w.Open, func(a, b Open) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Name, b.Name))
	})
}

// JSON writes the figures of the season.
func (s *Season) JSON(w io.Writer) error {
	if err := json.MarshalWrite(w, s, jsontext.WithIndent("  "), json.Deterministic(true)); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// CSV writes the figures of the season, one a line: the table, what the line is of, what is counted, and how much.
// Lengths are in cm.
func (s *Season) CSV(w io.Writer) error {
	out := csv.NewWriter(w)
	type figure struct {
		name  string
		value float64
	}
	rows := func(table, of string, figures ...figure) {
		for _, f := range figures {
			value := strconv.FormatFloat(f.value, 'f', -1, 64)
			_ = out.Write([]string{table, render.Guard(of), f.name, value}) // Flush and Error tell
		}
	}
	_ = out.Write([]string{"table", "of", "figure", "value"})
	t := &s.Totals
	rows("season", "", figure{"finds", float64(t.Finds)}, figure{"objects", float64(t.Objects)},
		figure{"outings", float64(t.Outings)}, figure{"outings without finds", float64(t.Nothing)}, figure{"hours", t.Hours})
	if t.Hours > 0 {
		rows("season", "", figure{"finds an hour", t.FindsAnHour})
	}
	for _, m := range s.Months {
		rows("month", m.Month, figure{"finds", float64(m.Finds)}, figure{"outings", float64(m.Outings)},
			figure{"hours", m.Hours})
	}
	for _, o := range s.Outings {
		of := o.Day + " " + o.Field
		rows("outing", of, figure{"finds", float64(o.Finds)})
		if o.Hours > 0 {
			rows("outing", of, figure{"hours", o.Hours})
		}
	}
	for _, t := range []struct {
		name string
		list []Count
	}{{"field", s.Fields}, {"material", s.Materials}, {"age", s.Periods}, {"class", s.Classes}, {"finder", s.Finders}} {
		for _, c := range t.list {
			rows(t.name, c.Name, figure{"finds", float64(c.Finds)}, figure{"objects", float64(c.Objects)})
		}
	}
	for _, g := range s.Depth.Groups {
		rows("depth", g.Material, figure{"finds", float64(len(g.Depths))}, figure{"shallowest", g.Lowest},
			figure{"median", g.Median}, figure{"deepest", g.Deepest})
	}
	for _, b := range s.Bands {
		rows("depth from "+strconv.FormatFloat(b.From, 'f', -1, 64), b.Material, figure{"finds", float64(b.Finds)})
	}
	for _, t := range s.Trust {
		rows("guess", t.Detector, figure{"pairs", float64(t.Pairs)}, figure{"mean difference", t.Mean},
			figure{"spread", t.Spread}, figure{"share deeper than guessed", t.Deeper})
	}
	for _, g := range s.Guesses {
		rows("guess", g.Detector+" "+g.Programme, figure{"pairs", float64(g.Pairs)}, figure{"mean difference", g.Mean},
			figure{"spread", g.Spread}, figure{"deeper than guessed", float64(g.Deeper)})
	}
	out.Flush()
	return out.Error()
}
