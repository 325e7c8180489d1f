package desk

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/repair"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/validate"
)

const tool = "findslip " + find.Version

// options are those of the command, by the names of its flags.
type options struct {
	Level, AsOf, From, DateOrder, Unit, System, Serial, Sheet, Encoding, Language, LogLanguage string

	Pivot       int
	Plain, Full bool
	Steps       Steps // of a page, where there is no command to be typed
}

// A job does one kind of request. Where it says so, the target is the format that is written.
type job struct {
	do     func(d *Desk, ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error)
	target bool
}

func jobs() map[string]job {
	return map[string]job{
		"share": {do: (*Desk).share}, "season": {do: (*Desk).season}, "where": {do: (*Desk).where},
		"receive": {do: (*Desk).receive}, "accept": {do: (*Desk).accept}, "merge": {do: (*Desk).merge},
		"questions": {do: (*Desk).questions}, "headings": {do: (*Desk).headings},
		"check": {(*Desk).check, true}, "convert": {(*Desk).convert, true}, "mark": {(*Desk).mark, true},
		"plan": {(*Desk).plan, true}, "propose": {(*Desk).propose, true},
		"template": {(*Desk).template, true}, "lands": {(*Desk).lands, true}, "read": {(*Desk).read, true},
	}
}

// answer does what is asked and returns JSON, and bytes where a file is the answer.
func (d *Desk) answer(ctx context.Context, ask *Request) (text string, content []byte, err error) {
	o, err := d.optionsOf(ask)
	if err != nil {
		return "", nil, err
	}
	job, known := jobs()[ask.Do]
	if !known {
		return "", nil, fmt.Errorf("%.40q is nothing that can be done here", ask.Do)
	}
	if job.target {
		if o.To, err = targetOf(ask.To); err != nil {
			return "", nil, err
		}
	}
	return job.do(d, ctx, ask, o)
}

// optionsOf are the options of a request, with what lies beside the log.
func (d *Desk) optionsOf(ask *Request) (o pipeline.Options, err error) {
	if o, err = ask.Options.pipeline(); err != nil {
		return o, err
	}
	o.Limits.Held = mostHeld
	o.FS, o.Files, o.Brief = d.files, d.pictures(), ask.Brief && (ask.Do == "check" || ask.Do == "convert")
	if err := d.state(ask, &o); err != nil {
		return o, err
	}
	if ask.Profile != "" {
		asked, faults, err := validate.LoadProfile(ask.Profile, profile.Folder(d.files))
		if err != nil {
			return o, err
		}
		if asked == nil {
			return o, fmt.Errorf("%s: %s", ask.Profile, strings.Join(each(faults, said), "; "))
		}
		whose, err := share.ParseAudience(cmp.Or(ask.For, string(share.Recorder)))
		if err != nil {
			return o, err
		}
		o.Profiles = []*profile.Effective{share.Put(asked, whose)}
	}
	return o, nil
}

// state puts what was said of the logs to the options.
func (d *Desk) state(ask *Request, o *pipeline.Options) error {
	var steps []func(*find.Stream, normalise.Options) (*find.Stream, error)
	if len(ask.Outlines) > 0 {
		steps = append(steps, outlined(ask.Outlines))
	}
	if len(ask.Photos) > 0 {
		steps = append(steps, ask.photographed)
	}
	if ask.Question != "" {
		steps = append(steps, ask.questioned)
	}
	each := map[string]pipeline.Options{}
	all := map[string]Stated{"": ask.Stated}
	if len(ask.Names) > 0 {
		all = ask.Each
	}
	for _, name := range slices.Sorted(maps.Keys(all)) {
		stated, own := all[name], pipeline.Options{}
		if ask.Do == "questions" {
			stated.Settings = nil // they are what is asked for
		}
		if err := stated.options(&own); err != nil {
			return err
		}
		each[name] = own
		if len(stated.Accepted) == 0 || ask.Do == "propose" || ask.Do == "questions" {
			continue
		}
		accepted, err := repair.ReadProposals(bytes.NewReader(stated.Accepted), limit.Limits{})
		if err != nil {
			return err
		}
		steps = append(steps, accepted.Step)
	}
	put := func(name string, o *pipeline.Options) {
		o.Table.Map, o.Beside = each[name].Table.Map, each[name].Beside
	}
	if len(ask.Names) > 0 {
		o.Of = put
	} else {
		put("", o)
	}
	if len(steps) > 0 {
		o.Step = func(s *find.Stream, read normalise.Options) (*find.Stream, error) {
			var err error
			for _, step := range steps {
				if s, err = step(s, read); err != nil {
					break
				}
			}
			return s, err
		}
	}
	return nil
}

// options reads the column map and the settings.
func (s *Stated) options(o *pipeline.Options) (err error) {
	if len(s.Columns) > 0 {
		if o.Table.Map, err = spreadsheet.ReadMap(bytes.NewReader(s.Columns), limit.Limits{}); err != nil {
			return err
		}
	}
	if len(s.Settings) > 0 {
		stated, err := spreadsheet.ReadSettings(bytes.NewReader(s.Settings), limit.Limits{})
		if err != nil {
			return err
		}
		o.Beside = &pipeline.Beside{Settings: stated}
	}
	return nil
}

func (d *Desk) plan(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	m, list, err := pipeline.Columns(ctx, ask.Name, o)
	if err != nil {
		return "", nil, err
	}
	return encode(map[string]any{"columns": m, "fields": fields(ask.Options.Language), "said": each(list, said)})
}

func (d *Desk) propose(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	p, err := repair.ProposeWithOpen(ctx, ask.Name, o)
	if err != nil {
		return "", nil, err
	}
	says := map[string]string{} // reasons are English; this is what there is in the language
	for _, one := range p.Proposals {
		if text := render.SayCode(ask.Options.Language, one.Rule); text != "" {
			says[one.Rule] = text
		}
	}
	words, _, err := encode(says)
	if err != nil {
		return "", nil, err
	}
	var out bytes.Buffer
	err = p.Write(&out)
	return out.String(), []byte(words), err
}

func (d *Desk) template(_ context.Context, ask *Request, _ pipeline.Options) (string, []byte, error) {
	var out bytes.Buffer
	err := spreadsheet.Template(&out, spreadsheet.TemplateOptions{Full: ask.Options.Full, Unit: ask.Options.Unit,
		Language: ask.Options.Language})
	return "{}", out.Bytes(), err
}

func (d *Desk) read(_ context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	text, err := read(ask, o.Read)
	return text, nil, err
}

// check checks a file and returns the report as JSON and as a page. Progress is reported every 500 finds.
func (d *Desk) check(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	of, err := sameLog(ask)
	if err != nil {
		return "", nil, err
	}
	finds := 0
	o.Watch = func(e *find.Entry) error {
		if finds++; finds%500 == 0 && d.Progress != nil {
			d.Progress(finds, 1)
		}
		return nil
	}
	var r *pipeline.Result
	if keeps(ask, &o) { // for what is made of it next
		r, err = d.readLog(ctx, ask, o, of)
	} else {
		r, err = d.checkLog(ctx, ask, o)
	}
	if err != nil {
		return "", nil, err
	}
	var report, page bytes.Buffer
	if err := render.JSON(&report, document(r, o)); err != nil {
		return "", nil, err
	}
	if err := render.HTML(&page, document(r, o)); err != nil {
		return "", nil, err
	}
	if said, _, err := encode(ask.Options); err == nil && d.kept.of == of && ask.Brief {
		d.kept.told[said] = report.Bytes()
	}
	doc := document(r, o)
	text, _, err := encode(told{Report: report.Bytes(), Lost: []loss{}, Levels: doc.Standings()})
	return text, ask.Options.Steps.page(page.Bytes()), err
}

func (d *Desk) checkLog(ctx context.Context, ask *Request, o pipeline.Options) (*pipeline.Result, error) {
	in, err := d.open(ctx, ask, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return in.Check(ctx, o)
}

// document is what is to be told; of a brief one, the groups are all that was kept.
func document(r *pipeline.Result, o pipeline.Options) render.Document {
	return r.Document(tool, o)
}

// convert returns a file in another format, and what is to be said of it.
func (d *Desk) convert(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	name, err := d.log(ctx, ask, &o)
	if err != nil {
		return "", nil, err
	}
	if o.From == pipeline.Findslip && isSheet(name) && o.To != pipeline.Findslip && o.To != pipeline.JSONL {
		o.Step = unsourced
	}
	said, _, err := encode(ask.Options)
	if err != nil {
		return "", nil, err
	}
	before := d.kept.told[said] // of the same log: else it was not kept
	o.Checked = before != nil && o.From == pipeline.Findslip && ask.Brief
	var out, report bytes.Buffer
	r, err := pipeline.Convert(ctx, name, &out, o)
	if err != nil {
		return "", nil, err
	}
	if o.Checked {
		report.Write(before)
	} else if err := render.JSON(&report, document(r, o)); err != nil {
		return "", nil, err
	}
	text, _, err := encode(told{Report: report.Bytes(), Lost: lost(r, ask.Options.Steps)})
	return text, out.Bytes(), err
}

// unsourced takes out which row of the sheet a find was read from: only the forms of JSON that are native say so.
func unsourced(s *find.Stream, _ normalise.Options) (*find.Stream, error) {
	return s.Map(func(e *find.Entry, _ bool) bool {
		if e.Find != nil {
			e.Find.Source = nil
		}
		return true
	}), nil
}

// told is what is to be said of a file that was written: the report of notices, with what could not be checked, and
// what the format could not hold.
type told struct {
	Report jsontext.Value    `json:"report"`
	Lost   []loss            `json:"lost"`
	Levels []render.Standing `json:"levels,omitzero"` // what lacks for each level, whichever was asked for
}

type loss struct {
	What  string `json:"what"`
	Times int    `json:"times"`
}

func lost(r *pipeline.Result, steps Steps) []loss {
	out := []loss{}
	for _, l := range r.Lost {
		out = append(out, loss{steps.Plain(l.Field), l.Times})
	}
	return out
}

// mark returns the workbook itself with marked cells.
func (d *Desk) mark(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	o.Step = nil // what was accepted does not stand in the workbook
	r, err := pipeline.Check(ctx, ask.Name, o)
	if err != nil {
		return "", nil, err
	}
	book, err := d.files.ReadFile(ask.Name)
	if err != nil {
		return "", nil, err
	}
	var out bytes.Buffer
	doc := r.Document(tool, o)
	doc.Plainly = ask.Options.Steps.Plain
	done, err := render.Mark(ctx, &out, bytes.NewReader(book), doc, limit.Limits{})
	if err != nil {
		return "", nil, err
	}
	text, _, err := encode(map[string]any{"cells": done.Cells, "left": done.Left})
	return text, out.Bytes(), err
}

// headings returns the headings of every field in every language, for a log that is written down in the page.
func (d *Desk) headings(context.Context, *Request, pipeline.Options) (string, []byte, error) {
	out := map[string]map[string]string{}
	for _, field := range heading.Fields() {
		out[field] = map[string]string{}
		for _, language := range lexicon.Tags() {
			out[field][language] = cmp.Or(heading.Label(field, language), heading.Label(field, "en"))
		}
	}
	return encode(out)
}

// common are the fields that a column can be said to be, in the order of a form.
var common = [...]string{"number", "name", "found.date", "found.time", "finder", "permission", "position",
	"position.latitude", "position.longitude",
	"position.easting", "position.northing", "position.method", "position.uncertainty", "depth", "depth.basis",
	"otherDepths.1", "signal.reading", "materials.1", "count", "weight",
	"dimensions.length", "dimensions.width", "dimensions.diameter", "dimensions.thickness", "condition.completeness",
	"dating.verbatim", "objectClass", "description", "place.parish", "place.country", "media.1", "keeper", "disposition",
	"value", "outing.hours", heading.TripModel, heading.TripSetting, "notes"}

// A field is one that a column can be said to be, with its name for people.
type field struct {
	Field string `json:"field"`
	Label string `json:"label"`
}

// fields returns the common fields with their names in a language.
func fields(language string) (out []field) {
	for _, name := range common {
		label := heading.Label(name, cmp.Or(language, "en"))
		if trip, ok := strings.CutPrefix(name, "outing."); ok {
			label = heading.LabelIn("outings", trip, cmp.Or(language, "en"))
		}
		out = append(out, field{name, cmp.Or(label, heading.Label(name, "en"))}) // without one, the page has its own
	}
	return out
}

func said(n notice.Notice) string { return n.Message }

// encode returns a value as JSON.
func encode(v any) (string, []byte, error) {
	b, err := json.Marshal(v, jsontext.AllowInvalidUTF8(true), json.Deterministic(true))
	return string(b), nil, err
}

// targetOf is the format asked for, if one is.
func targetOf(to string) (pipeline.Format, error) {
	if to == "" {
		return "", nil
	}
	return pipeline.ParseFormat(to)
}

// read reads texts of one kind and returns a list of readings.
func read(ask *Request, o normalise.Options) (string, error) {
	one, err := normalise.Reader(ask.Kind, o)
	if err != nil {
		return "", err
	}
	list := []normalise.Reading{}
	for _, text := range ask.Texts {
		list = append(list, one(text))
	}
	text, _, err := encode(list)
	return text, err
}

// pipeline returns the options as the pipeline has them.
func (o options) pipeline() (out pipeline.Options, err error) {
	if o.AsOf == "" {
		o.AsOf = time.Now().Format(time.DateOnly)
	}
	if o.Level == "" {
		// nobody asked: what lacks stands with what the log is good for
	} else if out.Level, err = validate.ParseLevel(o.Level); err != nil {
		return out, fmt.Errorf("level: %w", err)
	}
	if out.Read.AsOf, err = edtf.ParseDay(o.AsOf); err != nil {
		return out, fmt.Errorf("asOf: %w", err)
	}
	if out.Read.Order, err = edtf.ParseOrder(o.DateOrder); err != nil {
		return out, fmt.Errorf("dateOrder %.40q is not dmy, mdy or ymd", o.DateOrder)
	}
	if out.Read.Serial, err = edtf.ParseEpoch(o.Serial); err != nil {
		return out, fmt.Errorf("serial %.40q is not 1900 or 1904", o.Serial)
	}
	if o.Unit != "" {
		if out.Read.Unit, err = quantity.ParseUnit(o.Unit); err != nil {
			return out, fmt.Errorf("unit %.40q is not one of mm, cm, m, in, ft, yd, mg, g, kg, gr, oz, ozt, dwt, lb", o.Unit)
		}
	}
	if o.System != "" {
		s, ok := coordinate.SystemByCode(o.System)
		if !ok {
			return out, fmt.Errorf("system %.40q is not a reference system that is known here, such as EPSG:27700", o.System)
		}
		out.Read.System = s.Code
	}
	if o.From != "" {
		if out.From, err = pipeline.ParseFormat(o.From); err != nil {
			return out, fmt.Errorf("from: %w", err)
		}
	}
	if out.Read.Language = o.LogLanguage; o.LogLanguage != "" && lexicon.ByTag(o.LogLanguage) == nil {
		return out, fmt.Errorf("logLanguage %.40q is not one of %s", o.LogLanguage, strings.Join(lexicon.Tags(), ", "))
	}
	out.Read.Pivot, out.Plain, out.Language = o.Pivot, o.Plain, o.Language
	out.Table = spreadsheet.Options{Sheet: o.Sheet, Encoding: o.Encoding}
	return out, nil
}
