package pipeline

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/bag"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/render"
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
		bag.Text(packRead, []byte(out.readMe(file, o.Language, p)+out.verdicts(o))))
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
	d := p.Result.Document("", o)
	v := d.Verdict(o.Language)
	for _, r := range v.Receivers {
		fmt.Fprintf(&b, "\n%s\n", r.Verdict)
		for _, line := range slices.Concat(r.Todo, r.Notes) {
			fmt.Fprintf(&b, "  %s\n", line)
		}
	}
	b.WriteString(render.Say(o.Language, "bAsked"))
	if slices.ContainsFunc(o.Profiles, (*profile.Effective).Refuses) {
		b.WriteString(" " + render.Say(o.Language, "bUnwanted"))
	}
	b.WriteString("\n")
	return b.String()
}

// readMe tells in plain words, in a language, what lies in the payload.
func (p *Packed) readMe(report, language string, o PackOptions) string {
	var b strings.Builder
	say := func(name string, pairs ...string) string { return render.Say(language, name, pairs...) }
	audience := cmp.Or(p.Result.Report.Audience, "self")
	fmt.Fprintf(&b, "%s\n\n%s\n\n  %s\n      %s\n  %s\n      %s\n\n%s\n", say("bTitle"), say("bOpen"), report, say("bReport"),
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
	count, missing := strconv.Itoa(p.Pictures), slices.Concat(p.Missing, p.Held)
	switch {
	case len(missing) > 0:
		b.WriteString(say("bMissing", "count", count) + "\n")
	case o.left > 0:
		b.WriteString(render.SayMany(language, "bLeft", o.left, "count", count) + "\n")
	default:
		b.WriteString(say("bAll", "count", count) + "\n")
	}
	for _, m := range missing {
		fmt.Fprintf(&b, "  %s\n", render.Clean(m))
	}
	return b.String()
}
