package desk

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"path"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/country"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A land is a permission by the name that its finder knows it by.
type land struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// lands returns the fields of a log, for whoever chooses those of one landowner, and which finds its pictures are of.
func (d *Desk) lands(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	name, err := d.log(ctx, ask, &o)
	if err != nil {
		return "", nil, err
	}
	report, err := pipeline.Collect(ctx, name, o)
	if err != nil {
		return "", nil, err
	}
	asLand(report)
	lands, names := []land{}, share.LandNames(report)
	for i := range report.Permissions {
		id := report.Permissions[i].ID
		lands = append(lands, land{id, cmp.Or(names[id], id)})
	}
	pictured := 0
	for _, f := range report.Finds {
		if len(f.Media) > 0 {
			pictured++
		}
	}
	return encode(map[string]any{"lands": lands, "pictures": d.picturesOf(report), "pictured": pictured})
}

// asLand makes the named places of a log that has no permission the pieces of land that they are.
func asLand(r *find.Report) (changed bool) {
	if len(r.Permissions) > 0 {
		return false
	}
	ids := map[string]string{}
	for _, f := range r.Finds {
		if f.Place == nil || f.Place.Name == "" {
			continue
		}
		key := find.FoldName(f.Place.Name)
		if ids[key] == "" {
			ids[key] = fmt.Sprintf("permission-%d", len(ids)+1)
			r.Permissions = append(r.Permissions, find.Permission{ID: ids[key], Place: &find.Place{Name: f.Place.Name}})
		}
		f.Permission = ids[key]
	}
	return len(ids) > 0
}

// withLand lays a log whose places are its land in the place of itself.
func (d *Desk) withLand(ctx context.Context, name string, o *pipeline.Options) error {
	report, err := pipeline.Collect(ctx, name, *o)
	if err != nil || !asLand(report) {
		return err
	}
	var out bytes.Buffer
	if err := find.EncodeJSON(&out, find.StreamOf(report)); err != nil {
		return err
	}
	o.FS, o.From, o.Step = d.with(name, out.Bytes()), pipeline.Findslip, nil
	return nil
}

// picturesOf says which find a picture that lies open is of: the one that names it, else the one whose number its name
// bears.
func (d *Desk) picturesOf(r *find.Report) map[string]string {
	out := map[string]string{}
	var names, numbers []string
	for name := range d.files {
		if isPicture(name) {
			names = append(names, name)
		}
	}
	for _, f := range r.Finds {
		for _, m := range f.Media {
			out[path.Base(m.File)] = cmp.Or(f.Number, f.Name)
		}
		numbers = append(numbers, f.Number)
	}
	for number, list := range picture.Match(names, numbers) {
		for _, name := range list {
			out[name] = cmp.Or(out[name], number)
		}
	}
	return out
}

// handed is what is to be said of a copy before it goes.
type handed struct {
	Register string   `json:"register,omitzero"` // its lines, with this copy; to be kept before the copy goes
	Circles  []circle `json:"circles,omitzero"`  // what a stranger sees of the places
	Left     []string `json:"left,omitzero"`     // finds that are not in the copy, and why
	Stopped  []string `json:"stopped,omitzero"`  // why there is no copy
	Told     []string `json:"told,omitzero"`     // what was told before and would tell more together
	Held     []string `json:"held,omitzero"`     // words that were withheld, for something leaked in them
	Words    []doubt  `json:"words,omitzero"`    // words that were withheld, for they may tell a place, a person or a day
	Apart    []string `json:"apart,omitzero"`    // land whose finds lie in several places
	// the finished bytes were searched for what was taken away, without a hit
	Looked bool       `json:"looked"`
	Heads  []string   `json:"heads,omitzero"` // of Rows
	Rows   [][]string `json:"rows,omitzero"`  // the first finds of the copy, as their reader sees them
	Finds  int        `json:"finds"`          // in the copy
	// the numbers that their finder knows them by, for what is to be said of their dangers
	Numbers []string `json:"numbers,omitzero"`
}

// A doubt is a member of a find of which words were left out, for they may tell a place, a person or a day.
type doubt struct {
	Find  string   `json:"find"`
	Of    string   `json:"of"` // the heading of the member
	Words []string `json:"words"`
}

type circle struct {
	Kilometres float64 `json:"kilometres"`
	Finds      int     `json:"finds"`
}

// audience is whom a copy is for, with the form of the copy.
func (ask *Request) audience(o *pipeline.Options) (a share.Audience, err error) {
	if a, err = share.ParseAudience(ask.For); err != nil {
		return a, err
	}
	if ask.To == string(pipeline.Page) {
		if o.To, o.Generator = pipeline.Page, tool; !share.HasSheet(a) {
			err = fmt.Errorf("there is a page for landowner and expert only")
		}
		return a, err
	}
	o.To, err = pipeline.ParseFormat(ask.To)
	return a, err
}

// share makes a copy for an audience. The register comes as text and goes back as text.
func (d *Desk) share(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	a, err := ask.audience(&o)
	if err != nil {
		return "", nil, err
	}
	now := time.Now().UTC()
	kept, err := registerOf(ask.Register, now)
	if err != nil {
		return "", nil, err
	}
	name, err := d.log(ctx, ask, &o)
	if err != nil {
		return "", nil, err
	}
	if a == share.Landowner {
		if err := d.withLand(ctx, name, &o); err != nil {
			return "", nil, err
		}
	}
	s := pipeline.ShareOptions{Keep: &pipeline.RegisterFile{Register: kept}, Earlier: ask.Earlier, HoldBack: true}
	s.Audience, s.Receiver, s.Permissions, s.Day = a, ask.Receiver, ask.Lands, o.Read.AsOf.String()
	s.Finds = ask.Finds
	for _, words := range ask.Pass {
		s.Policy = s.Policy.Pass(words)
	}
	if o.Step == nil {
		o.Step = d.watched()
	}
	r, err := pipeline.Share(ctx, name, o, s)
	if err != nil {
		return "", nil, err
	}
	defer r.Close()
	out := handed{Stopped: append(each(r.Leaks, func(l share.Leak) string { return l.Kind + r.Whose(l) }), r.Unlooked...),
		Told: each(r.Told, func(n share.Narrowing) string { return n.Find + ": " + n.Text }),
		Held: each(r.HeldBack, share.Span.String), Left: each(r.Copy.Out, why), Words: doubts(r, ask.Options.Language),
		Apart: r.Copy.Apart}
	if !r.Made {
		text, _, err := encode(out)
		return text, nil, err
	}
	if err := r.Copy.Whole(ctx); err != nil {
		return "", nil, err
	}
	out.show(r.Copy, ask.Options.Language)
	if _, err := r.Note(ctx, now.Format(time.RFC3339Nano), o.Read.AsOf.String(), name, r.Sum()); err != nil {
		return "", nil, err
	}
	lines, err := kept.Fresh()
	if err != nil {
		return "", nil, err
	}
	if out.Register = ask.Register; out.Register != "" && !strings.HasSuffix(out.Register, "\n") {
		out.Register += "\n"
	}
	out.Register += string(lines)
	text, _, err := encode(out)
	return text, r.Data(), err
}

// show fills in what a person sees of a copy before it goes.
func (out *handed) show(c *share.Copied, language string) {
	out.Finds, out.Looked = c.Len(), true
	for _, f := range c.Report.Finds {
		out.Numbers = append(out.Numbers, c.Label(f))
	}
	out.Heads, out.Rows = preview(c.Report, language)
	for _, ring := range c.Circles() {
		out.Circles = append(out.Circles, circle{math.Round(ring.Radius/100) / 10, ring.Finds})
	}
}

// why says which find is left out, and for what.
func why(l share.LeftOut) string { return l.Find + ": " + l.Why }

// each says something of each of a list.
func each[T any](list []T, say func(T) string) []string {
	out := []string{}
	for _, one := range list {
		out = append(out, say(one))
	}
	return out
}

// doubts are the words that were withheld because they may tell something.
func doubts(r *pipeline.Shared, language string) (out []doubt) {
	for _, d := range r.Copy.Doubts {
		out = append(out, doubt{d.Find, headOf(strings.TrimPrefix(d.Member, "finds."), language), d.Words})
	}
	return out
}

// registerOf reads a register, or begins one.
func registerOf(lines string, now time.Time) (*register.Register, error) {
	if lines == "" {
		return register.New(now.Format(time.RFC3339)), nil
	}
	kept := &register.Register{}
	if err := kept.Read(strings.NewReader(lines), limit.Limits{}); err != nil {
		return nil, fmt.Errorf("the register cannot be read: %w", err)
	}
	kept.Renew(now.Format(time.RFC3339))
	return kept, nil
}

// mostSeen is how many finds of a copy are shown before it goes.
const mostSeen = 200

// forPrograms are members that say nothing to people, or what another member says to them.
var forPrograms = regexp.MustCompile(`^(absent|generalised|id|kind|lifted|found\.verbatim|position\.(longitude|` +
	`verbatim|` +
	`uncertainty.*)|dating\.(earliest|latest)|.*\.(approximate|said|unit|resolution|best|certainty|basis))$`)

// signOfRecord is what stands for a person or a field that is not named.
var signOfRecord = regexp.MustCompile(`^(person|permission|outing)-[0-9a-f]{8,}$`)

// saysMore are members whose code says something beside the words of what they belong to.
var saysMore = regexp.MustCompile(`\.(certainty|basis|method|event)$`)

// preview shows finds of a copy as a table: what a file has in several columns for programs - the bounds of a measure,
// a code beside its certainty - stands in one, under the heading that people know.
func preview(r *find.Report, language string) (heads []string, rows [][]string) {
	at := map[string]int{}
	for _, f := range r.Finds[:min(len(r.Finds), mostSeen)] {
		row, weak, longitude, said := map[int]string{}, map[int]bool{}, "", saidIn(f)
		for c := range find.Flat(f) {
			if c.Name == "position.longitude" {
				longitude = c.Text
			}
			if forPrograms.MatchString(c.Name) || signOfRecord.MatchString(c.Text) {
				continue
			}
			head, _, _ := strings.Cut(headOf(c.Name, language), " [")
			if c.Name == "position.latitude" {
				head, c.Text = head+", "+headOf("position.longitude", language), c.Text+", "+longitude
			}
			if head == "" {
				continue // for programs, as how an uncertainty was worked out
			}
			i, ok := at[head]
			if !ok {
				i = len(heads)
				at[head], heads = i, append(heads, head)
			}
			text := forPeople(c.Name, c.Text, language, said)
			concept, coded := vocabulary.Get(c.Field.List).Concept(text)
			if coded {
				text = concept.Label(cmp.Or(language, "en"))
			}
			top, dating := strings.HasSuffix(c.Name, ".max"), c.Name == "dating.date"
			computed := top || strings.HasSuffix(c.Name, ".min") || dating || coded && !saysMore.MatchString(c.Name)
			if dating {
				text = share.Years(text, language)
			}
			switch {
			case row[i] == "":
				row[i], weak[i] = text, computed
			case row[i] == text:
			case top && weak[i]:
				row[i] += "–" + text
			case computed: // its words stand there
			case weak[i]:
				row[i], weak[i] = text, false
			default:
				row[i] += ", " + text
			}
		}
		line := make([]string, 0, len(heads))
		for i := range heads {
			line = append(line, row[i])
		}
		rows = append(rows, line)
	}
	for i := range rows { // those before a column came up
		rows[i] = append(rows[i], make([]string, len(heads)-len(rows[i]))...)
	}
	return heads, rows
}

// saidIn are the units of the measures of a find, by member.
func saidIn(f *find.Find) map[string]string {
	said := map[string]string{}
	for c := range find.Flat(f) {
		if of, ok := strings.CutSuffix(c.Name, ".said"); ok {
			said[of] = c.Text
		}
	}
	return said
}

// forPeople is a text with the unit that its heading said, and a country by its name where that is English.
func forPeople(name, text, language string, said map[string]string) string {
	if said[name] != "" {
		return share.AsWritten(&find.Quantity{Verbatim: text, Min: find.Int(0), Said: said[name]})
	}
	if strings.HasSuffix(name, ".country") && language == "en" && country.IsCode(text) {
		return country.Name(text)
	}
	return text
}

// headOf is the heading of a member, or of the member that it is part of; empty where there is none.
func headOf(name, language string) string {
	if own, ok := strings.CutPrefix(name, "columns."); ok {
		return own
	}
	for part := name; ; {
		if label := cmp.Or(heading.Label(part, cmp.Or(language, "en")), heading.Label(part, "en")); label != "" {
			return label
		}
		at := strings.LastIndexByte(part, '.')
		if at < 0 {
			return ""
		}
		part = part[:at]
	}
}

// questioned puts a question to the finds that an expert is asked about.
func (ask *Request) questioned(s *find.Stream, _ normalise.Options) (*find.Stream, error) {
	return s.Map(func(e *find.Entry, _ bool) bool {
		if f := e.Find; f != nil && f.Question == "" && (len(ask.Finds) == 0 || slices.Contains(ask.Finds, f.Number)) {
			f.Question = ask.Question
		}
		return true
	}), nil
}

// photographed gives finds the photos that a person says are theirs.
func (ask *Request) photographed(s *find.Stream, _ normalise.Options) (*find.Stream, error) {
	of := map[string][]string{}
	for _, file := range slices.Sorted(maps.Keys(ask.Photos)) {
		of[ask.Photos[file]] = append(of[ask.Photos[file]], file)
	}
	return s.Map(func(e *find.Entry, _ bool) bool {
		if e.Find == nil {
			return true
		}
		for _, file := range of[e.Find.Number] {
			if !slices.ContainsFunc(e.Find.Media, func(m find.Media) bool { return path.Base(m.File) == file }) {
				e.Find.Media = append(e.Find.Media, find.Media{File: file})
			}
		}
		return true
	}), nil
}
