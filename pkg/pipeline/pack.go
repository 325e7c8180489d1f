package pipeline

import (
	"bytes"
	"cmp"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"html"
	"html/template"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/bag"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// The names within the payload of a hand-over.
const (
	packReport  = "report/" // the report, and its pictures under the names it gives them
	packNotices = "notices.json"
	packRead    = "README.txt"
)

// Packed is a hand-over that is ready to be written. Close it when it has been.
type Packed struct {
	Result   *Result  // notices on the report; the pictures were looked at
	Pictures int      // that go with it
	Missing  []string // pictures that the report names and that are not there
	Held     []string // pictures that stay behind: the report is for somebody else and they tell more than is seen
	Shared   *Shared  // the copy for others; if it leaks, nothing can be written. Nil: there was none to make
	bag      bag.Bag
	close    func() error

	unfinished *Unfinished
}

// WriteZip writes the hand-over as a zip file.
func (p *Packed) WriteZip(ctx context.Context, w io.Writer) error { return bag.WriteZip(ctx, w, p.bag) }

// WriteFolder writes the hand-over as a new folder, named in Pack, within parent.
func (p *Packed) WriteFolder(ctx context.Context, parent string) error {
	return p.unfinished.Folder(filepath.Join(parent, p.bag.Name), func(name string) error {
		return bag.WriteFolder(ctx, filepath.Dir(name), p.bag)
	})
}

// Close releases the folder of the pictures.
func (p *Packed) Close() error { return p.close() }

// PackOptions say how a hand-over is called and what its label says.
type PackOptions struct {
	Name string // of the folder in which all lies; one plain name
	Tool string // name and version of the program, for the notices and the label
	Day  string // day of packing, ISO 8601; empty: not said

	left int // pictures of the log of which no copy could be made
}

// pack makes a hand-over of a report as it stands.
func pack(ctx context.Context, name string, o Options, p PackOptions) (*Packed, error) {
	files, done, err := o.beside(name)
	if err != nil {
		return nil, fmt.Errorf("packing %s: %w", name, err)
	}
	// each may be much more than memory should hold
	report, notices := &held{unfinished: o.Unfinished}, &held{unfinished: o.Unfinished}
	out := &Packed{unfinished: o.Unfinished, close: func() error { report.close(); notices.close(); return done() }}
	o.Files, o.To = files, Findslip
	in, err := Open(ctx, name, o)
	if err != nil {
		return nil, errors.Join(err, out.close())
	}
	defer in.Close()
	pictures, first := map[string]bool{}, &front{}
	out.Result, err = Run(ctx, in, o, func(s *find.Stream) error {
		return Encode(report, namingPictures(s, pictures, first), o)
	})
	if err != nil {
		return nil, errors.Join(fmt.Errorf("packing %s: %w", name, err), out.close())
	}
	file := packReport + p.Name + ".findslip.json"
	payload := []bag.File{{Name: file, Open: report.open}}
	for _, picture := range slices.Sorted(maps.Keys(pictures)) {
		if err := ctx.Err(); err != nil {
			return nil, errors.Join(fmt.Errorf("packing %s: %w", name, err), out.close())
		}
		if f, ok := out.picture(picture, file, o); ok {
			payload = append(payload, f)
		}
	}
	if err := render.JSON(notices, out.Result.Document(p.Tool, o)); err != nil {
		return nil, errors.Join(fmt.Errorf("packing %s: %w", name, err), out.close())
	}
	payload = append(payload, bag.File{Name: packNotices, Open: notices.open},
		bag.Text(packRead, []byte(out.safety(o)+out.readMe(file, o.Language, p)+out.verdicts(o))))
	readable, err := out.forReceivers(ctx, first, report, file, o, p)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("packing %s: %w", name, err), out.close())
	}
	asked, err := profileFiles(o.Profiles)
	if err != nil {
		return nil, errors.Join(err, out.close())
	}
	out.bag = bag.Bag{Name: p.Name, Files: slices.Concat(readable, payload, asked),
		Info: packInfo(out.Result.Report, p, o.Profiles)}
	return out, nil
}

// picture takes a picture into the payload, or notes why it does not go.
func (p *Packed) picture(name, report string, o Options) (bag.File, bool) {
	clean := path.Clean(name)
	if o.Files == nil || !fs.ValidPath(clean) || strings.Contains(clean, `\`) || packReport+clean == report ||
		packReport+clean == strings.TrimSuffix(report, ".findslip.json")+".xlsx" || register.IsName(path.Base(clean)) {
		p.Missing = append(p.Missing, name)
		return bag.File{}, false
	}
	if info, err := fs.Stat(o.Files, clean); err != nil || !info.Mode().IsRegular() {
		p.Missing = append(p.Missing, name)
		return bag.File{}, false
	}
	if forOthers(p.Result.Report) && tells(o.Files, clean, o.Limits.WithDefaults().Picture) {
		p.Held = append(p.Held, name)
		return bag.File{}, false
	}
	from := o.Files
	p.Pictures++
	return bag.File{Name: packReport + clean, Open: func() (io.ReadCloser, error) { return from.Open(clean) }}, true
}

// beside returns the folder of a report, where its pictures lie unless Options.Files says otherwise,
// and what closes it.
func (o *Options) beside(name string) (fs.FS, func() error, error) {
	none := func() error { return nil }
	switch {
	case o.Files != nil || name == "-":
		return o.Files, none, nil
	case o.FS != nil:
		files, err := fs.Sub(o.FS, path.Dir(name))
		return files, none, err
	}
	root, err := os.OpenRoot(filepath.Dir(name)) // so that no name or link leads outside
	if err != nil {
		return nil, none, err
	}
	return root.FS(), root.Close, nil
}

// namingPictures notes the names of the pictures, and what the front page lists, as the finds pass.
func namingPictures(s *find.Stream, names map[string]bool, first *front) *find.Stream {
	out := *s
	out.SetEntries(func(yield func(*find.Entry, error) bool) {
		for e, err := range s.Entries {
			if err == nil && e.Find != nil {
				first.see(e.Find)
				for i := range e.Find.Media {
					if m := e.Find.Media[i].File; m != "" {
						names[m] = true
					}
				}
			}
			if !yield(e, err) {
				return
			}
		}
	})
	return &out
}

// profileFiles are the profiles that a hand-over answers, each whole in itself.
func profileFiles(list []*profile.Effective) (out []bag.File, err error) {
	for _, e := range list {
		text, err := e.JSON()
		if err != nil {
			return nil, err
		}
		out = append(out, bag.Text("profile/"+e.ID+profile.Ending, text))
	}
	return out, nil
}

// packInfo is the label of the bag (RFC 8493 section 2.2.2).
func packInfo(r *find.Report, p PackOptions, asked []*profile.Effective) [][2]string {
	info := [][2]string{{"External-Description", "find report in the Findslip format, version " + find.Version}}
	if r.ID != "" {
		info = append(info, [2]string{"External-Identifier", r.ID})
	}
	for _, e := range asked {
		info = append(info, [2]string{"Findslip-Profile", e.Label()})
	}
	if p.Day != "" {
		info = append(info, [2]string{"Bagging-Date", p.Day})
	}
	if p.Tool != "" {
		info = append(info, [2]string{"Bag-Software-Agent", p.Tool})
	}
	return info
}

// verdicts says for the receivers whose profiles were asked what the report is good for, and what lies beside it.
func (p *Packed) verdicts(o Options) string {
	if len(o.Profiles) == 0 {
		return ""
	}
	var b strings.Builder
	for _, r := range p.receivers(o) {
		fmt.Fprintf(&b, "\n%s\n", r.Verdict)
		for _, line := range slices.Concat(r.Todo, r.Notes) {
			fmt.Fprintf(&b, "  %s\n", line)
		}
	}
	b.WriteString(render.Say(o.Language, "bAsked"))
	if out := p.Unwanted(o); out != "" {
		b.WriteString(" " + out)
	}
	b.WriteString("\n")
	return b.String()
}

// Unwanted says what the receivers whose profiles were asked do not want, and what of it goes along.
func (p *Packed) Unwanted(o Options) string {
	var out []string
	var refused []string
	for _, e := range o.Profiles {
		refused = append(refused, e.Refused(cmp.Or(o.Language, e.Language()))...)
	}
	if len(refused) > 0 {
		out = append(out, render.Say(o.Language, "bUnwanted", "what", strings.Join(refused, "; ")))
	}
	if slices.ContainsFunc(o.Profiles, (*profile.Effective).LeavesOut) && len(p.Danger(o)) > 0 {
		out = append(out, render.Say(o.Language, "dangerStays"))
	}
	if slices.ContainsFunc(p.Result.Summary.Asked, func(t *profile.Tally) bool { return len(t.Outside) > 0 }) {
		out = append(out, render.Say(o.Language, "travel"))
	}
	return strings.Join(out, " ")
}

// receivers are those whose profiles were asked, and what it came to.
func (p *Packed) receivers(o Options) []render.Reception {
	d := p.Result.Document("", o)
	return d.Verdict(o.Language).Receivers
}

// Danger is what is said of danger to life and of the dead: of the log, where it was asked before the copy was made.
func (p *Packed) Danger(o Options) []string {
	if p.Shared != nil && p.Shared.Danger != nil || p.Result == nil {
		return p.Shared.Danger
	}
	return p.danger(o)
}

// danger is what is said of it in the hand-over.
func (p *Packed) danger(o Options) []string {
	d := p.Result.Document("", o)
	v := d.Verdict(o.Language)
	return v.Danger(nil)
}

// safety stands before all that a receiver reads.
func (p *Packed) safety(o Options) (text string) {
	for _, line := range p.danger(o) {
		text += render.Say(o.Language, "safety") + "  " + render.Clean(line) + "\n\n"
	}
	return text
}

// picturesSaid says how many pictures go with it, and whether any is missing or was left behind.
func (p *Packed) picturesSaid(language string, o PackOptions) string {
	count := strconv.Itoa(p.Pictures)
	var parts []string
	if o.left > 0 {
		parts = append(parts, render.SayMany(language, "bLeft", o.left, "count", count))
	}
	if len(p.Missing)+len(p.Held) > 0 {
		parts = append(parts, render.Say(language, "bMissing", "count", count))
	}
	return cmp.Or(strings.Join(parts, " "), render.Say(language, "bAll", "count", count))
}

// readMe tells in plain words, in a language, what lies in the payload.
func (p *Packed) readMe(report, language string, o PackOptions) string {
	var b strings.Builder
	say := func(name string, pairs ...string) string { return render.Say(language, name, pairs...) }
	audience := cmp.Or(p.Result.Report.Audience, "self")
	fmt.Fprintf(&b, "%s\n\n%s\n\n  %s\n      %s\n  %s\n      %s\n\n%s\n", say("bTitle"), say("bOpen"), report,
		say("bReport"),
		packNotices, say("bNotices"), say("bAudience", "text", audience))
	switch audience {
	case "self", "partner", "recorder", "landowner":
		b.WriteString(say("bExact") + "\n")
	}
	fmt.Fprintf(&b, "\n%s\n%s\n\n  sha256sum -c manifest-sha256.txt tagmanifest-sha256.txt\n\n", say("bBag"), say("bLook"))
	pictures := "bPictures"
	if audience == "self" {
		pictures = "bPicturesOwn"
	}
	b.WriteString(say(pictures) + "\n")
	b.WriteString(p.picturesSaid(language, o) + "\n")
	for _, m := range slices.Concat(p.Missing, p.Held) {
		fmt.Fprintf(&b, "  %s\n", render.Clean(m))
	}
	return b.String()
}

// Pack reads a report of any format and makes a hand-over of it: the report in canonical form, its
// pictures from Options.Files, else from the folder of the report, the notices on it, the schemas
// and the code lists. A picture that is not there does not stop it and is reported.
//
// For the finder, and where s names no audience, the report and its pictures go as they are; where the
// report itself is a copy for others, a picture that carries its position, a serial number or its owner
// stays behind. For another audience a copy is made, as Share does, and packed: its pictures are made
// anew, without metadata and under names that say nothing. If the copy leaks, Packed.Shared says where,
// and there is nothing to be written.
func Pack(ctx context.Context, name string, o Options, p PackOptions, s ShareOptions) (*Packed, error) {
	if s.Audience == share.Self || s.Audience == "" {
		if len(o.Profiles) > 0 {
			return nil, errors.New("a profile chooses no audience: say whose copy it is to be, such as --for recorder")
		}
		return pack(ctx, name, o, p)
	}
	files, done, err := o.beside(name)
	if err != nil {
		return nil, fmt.Errorf("packing %s: %w", name, err)
	}
	o.Files = files
	folder, err := os.MkdirTemp("", "findslip-*")
	if err != nil {
		return nil, errors.Join(fmt.Errorf("packing %s: %w", name, err), done())
	}
	o.Unfinished.begin(folder)
	remove := func() error {
		defer o.Unfinished.end(folder)
		return os.RemoveAll(folder)
	}
	out, err := packFor(ctx, name, o, p, s, folder)
	if err = errors.Join(err, done()); err != nil {
		return nil, errors.Join(err, remove())
	}
	closing := out.close
	out.close = func() error { return errors.Join(closing(), remove()) }
	return out, nil
}

// pictureFolder is the folder of the pictures beside a report that was made for an audience.
const pictureFolder = "pictures"

func packFor(ctx context.Context, name string, o Options, p PackOptions, s ShareOptions, folder string) (*Packed,
	error) {
	if err := os.Mkdir(filepath.Join(folder, pictureFolder), 0o700); err != nil {
		return nil, fmt.Errorf("packing %s: %w", name, err)
	}
	s.Name, s.Pictures = p.Name, pictureFolder
	s.SavePicture = func(name string, data []byte) error {
		return os.WriteFile(filepath.Join(folder, pictureFolder, path.Base(name)), data, 0o600)
	}
	o.To = Findslip
	shared, err := Share(ctx, name, o, s)
	if err != nil {
		return nil, err
	}
	if !shared.Made {
		return &Packed{Shared: shared, close: func() error { return nil }}, nil
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return nil, fmt.Errorf("packing %s: %w", name, err)
	}
	inner := o
	inner.From, inner.Stdin, inner.Files = Findslip, bytes.NewReader(shared.Data()), root.FS()
	if len(shared.danger) > 0 && len(o.Profiles) > 0 {
		inner.ahead = shared.carried
	}
	p.left, p.Day = len(shared.LeftOut), s.Audience.DayTold(p.Day)
	if day, err := edtf.ParseDay(s.Audience.DayTold(o.Read.AsOf.String())); err == nil {
		inner.Read.AsOf = day // the notices name it
	}
	out, err := pack(ctx, "-", inner, p)
	if err != nil {
		return nil, errors.Join(err, root.Close())
	}
	packed := out.close
	out.Shared, out.close = shared, func() error { return errors.Join(packed(), root.Close()) }
	// What is packed beside the copy is looked through as well: the notices and the label.
	for _, file := range out.bag.Files {
		if file.Name != packNotices && file.Name != packRead && file.Name != packFront && path.Ext(file.Name) != ".xlsx" {
			continue
		}
		looked, err := leaksOf(ctx, file.Open, shared, o)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("packing %s: %w", name, err), out.close())
		}
		shared.Leaks, shared.Unlooked = append(shared.Leaks, looked.Leaks...), append(shared.Unlooked, looked.Unread...)
	}
	return out, nil
}

// tells reports whether a picture carries what its reader may not know. One that cannot be read does.
func tells(files fs.FS, name string, most int64) bool {
	f, err := files.Open(name)
	if err != nil {
		return true
	}
	defer f.Close()
	data, err := limit.ReadAll(f, "picture", most)
	if err != nil {
		return true
	}
	for _, what := range picture.Carries(data) {
		switch what {
		case "position", "serial-number", "owner", "words", "maker-note", "trailer":
			return true
		}
	}
	return picture.Extension(data) == "" // what cannot be looked into
}

// leaksOf looks through a file that lies beside the copy. What the bodies call themselves is no secret there, though
// one of them may be a person of the log.
func leaksOf(ctx context.Context, open func() (io.ReadCloser, error), shared *Shared,
	o Options) (looked share.Looked, err error) {
	r, err := open()
	if err != nil {
		return looked, err
	}
	defer r.Close()
	data, err := limit.ReadAll(r, "held", o.Limits.WithDefaults().Held)
	if err != nil {
		return looked, err
	}
	for _, e := range o.Profiles {
		names := slices.AppendSeq([]string{e.ID}, maps.Values(e.Title))
		if e.Body != nil {
			names = slices.AppendSeq(names, maps.Values(e.Body.Name))
		}
		for _, name := range names {
			if len(name) > 5 { // two letters are within other words
				data = bytes.ReplaceAll(data, []byte(html.EscapeString(name)), []byte("..."))
				data = bytes.ReplaceAll(data, []byte(name), []byte("..."))
			}
		}
	}
	return shared.search.File(ctx, bytes.NewReader(data), int64(len(data)), o.Limits)
}

// packFront is the front page of a hand-over: what a receiver opens first.
const packFront = "START-HERE.html"

//go:embed pack_front.html.tmpl
var frontText string

var frontPage = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("front").Funcs(template.FuncMap{"clean": render.Clean, "look": render.Look}).
		Parse(frontText))
})

// mostOnFront is how many finds the front page lists; the workbook has all.
const mostOnFront = 500

// frontRow is a find as the front page lists it.
type frontRow struct{ Number, Name, Material, Day string }

// front gathers the rows of the front page while the finds pass.
type front struct {
	rows  []frontRow
	finds int
}

func (f *front) see(x *find.Find) {
	if f.finds++; f.finds > mostOnFront {
		return
	}
	row := frontRow{Number: x.Number, Name: x.Name}
	if len(x.Materials) > 0 {
		m := &x.Materials[0]
		row.Material = m.Verbatim
		if row.Material == "" {
			row.Material = m.Code
		}
	}
	if x.Found != nil {
		row.Day = x.Found.Date
	}
	f.rows = append(f.rows, row)
}

// frontWords are what the front page says, in a language.
type frontWords struct {
	PackOptions
	Lang, Title, Audience, Report, Book, PicturesSaid string
	Exact                                             bool
	Rows                                              []frontRow
	Finds, More                                       int
	Heads, Missing, Danger                            []string
	Receivers                                         []render.Reception
}

// Say is a sentence of the frame.
func (f *frontWords) Say(name string, pairs ...string) string {
	return render.Say(f.Lang, name, pairs...)
}

// Many is one for so many things.
func (f *frontWords) Many(name string, n int) string { return render.SayMany(f.Lang, name, n) }

// page writes the front page.
func (p *Packed) page(f *front, report, book string, o Options, po PackOptions) ([]byte, error) {
	w := &frontWords{PackOptions: po, Lang: cmp.Or(o.Language, "en"), Title: p.Result.Report.Title,
		Audience: cmp.Or(p.Result.Report.Audience, "self"), Rows: f.rows, Finds: f.finds, More: max(0, f.finds-len(f.rows)),
		Report: report, Book: book, Missing: slices.Concat(p.Missing, p.Held), Receivers: p.receivers(o),
		Danger: p.danger(o)}
	w.Exact = w.Audience != "public" && w.Audience != "expert" && w.Audience != "club"
	w.PicturesSaid = p.picturesSaid(w.Lang, po)
	for _, field := range []string{"number", "name", "materials.1", "found.date"} {
		w.Heads = append(w.Heads, cmp.Or(heading.Label(field, w.Lang), heading.Label(field, "en")))
	}
	var out bytes.Buffer
	err := frontPage().Execute(&out, w)
	return out.Bytes(), err
}

// workbook writes the report once more as a plain workbook, for who has a spreadsheet program and no other.
func (p *Packed) workbook(ctx context.Context, report *held, o Options) (_ *held, err error) {
	r, err := report.open()
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	in, err := Open(ctx, "-", Options{From: Findslip, Stdin: r, Limits: ownLimits, Unfinished: o.Unfinished})
	if err != nil {
		return nil, err
	}
	defer in.Close()
	out := &held{unfinished: o.Unfinished}
	err = Encode(out, in.Stream.Until(ctx), Options{To: XLSX, Plain: true, Language: o.Language})
	if err != nil {
		out.close()
		return nil, fmt.Errorf("writing the workbook: %w", err)
	}
	return out, nil
}

// forReceivers are the front page and the workbook.
func (p *Packed) forReceivers(ctx context.Context, f *front, report *held, file string, o Options,
	po PackOptions) ([]bag.File, error) {
	book, err := p.workbook(ctx, report, o)
	if err != nil {
		return nil, err
	}
	closing := p.close
	p.close = func() error { book.close(); return closing() }
	name := packReport + po.Name + ".xlsx"
	page, err := p.page(f, file, name, o, po)
	if err != nil {
		return nil, err
	}
	return []bag.File{bag.Text(packFront, page), {Name: name, Open: book.open}}, nil
}
