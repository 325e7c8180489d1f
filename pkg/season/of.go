package season

import (
	"bytes"
	"cmp"
	"context"
	"encoding/base64"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/pipeline"
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
	Year        string                  // only finds and outings of this year; empty: all
	Best        []string                // numbers of the finds to show; empty: those of which most is known
	Places      bool                    // draw a plan of each field from what the reports hold
	Language    string                  // of labels and words; empty: en
	Tool        string                  // name and version of the program
	Day         string                  // that counts as today, ISO 8601
	Pictures    map[string]template.URL // by their names in the reports, to be shown; of Make only
	Due         []Open                  // time limits that were counted elsewhere; of Make only
}

// pictureSide is the longer side of a picture on the page, in pixels.
const pictureSide = 640

// Show is for whoever a season is shown to: the finds of a public copy with its names and words, no field, no place,
// no day and no number, and the figures - months, depths, hours, guesses - of those finds in the log itself. What a
// public copy says nothing of counts in no figure either.
const Show share.Audience = "show"

// Made is a season and what is to be said of it.
type Made struct {
	*Season
	Left   int             // finds that the audience may not see
	Out    []share.LeftOut // which those are and why, for the owner alone
	Due    int             // time limits that are open; told on the page only to yourself, a partner and a recorder
	Held   []share.Span    // words that were withheld, for something would have leaked in them
	Unread int             // entries that could not be read

	sources []source        // that the finished figures are held against
	hidden  map[string]bool // ids of finds that a log keeps out of what is shown
}

// source is a log with the copy that was made of it.
type source struct {
	report *find.Report
	copied *share.Copied
}

// Of reads logs of any format and works a season out of what the audience may see of them. Pictures are taken from
// pipeline.Options.Files.
func Of(ctx context.Context, names []string, o pipeline.Options, so Options) (*Made, error) {
	so.Audience = cmp.Or(so.Audience, Show)
	so.Places = exact(so.Audience)
	so.Pictures = map[string]template.URL{}
	m := Made{hidden: map[string]bool{}}
	var reports []*find.Report
	ids := map[string]bool{}
	for _, name := range names {
		r, back, err := m.copyOf(ctx, name, o, &so)
		if err != nil {
			return nil, err
		}
		// One find in two logs counts once: ids of copies differ, those of the owner do not.
		r.Finds = slices.DeleteFunc(r.Finds, func(f *find.Find) bool {
			id := cmp.Or(back[f.ID], f.ID)
			twice := id != "" && ids[id]
			ids[id] = true
			return twice
		})
		reports = append(reports, r)
		if err := m.due(ctx, name, o, &so); err != nil {
			return nil, err
		}
	}
	for _, r := range reports { // what one log keeps out, another does not tell
		r.Finds = slices.DeleteFunc(r.Finds, func(f *find.Find) bool { return m.hidden[f.ID] })
	}
	m.Season = Make(reports, so)
	if err := m.vouch(ctx, reports, so); err != nil {
		return nil, err
	}
	if so.Audience != share.Public && so.Audience != Show { // there, not even their number is told
		m.Totals.LeftOut = m.Left
	}
	return &m, nil
}

// exact reports whether an audience sees exact places, so that a plan can be drawn.
func exact(a share.Audience) bool {
	return a == share.Self || a == share.Partner || a == share.Landowner || a == share.Recorder
}

// copyOf makes the copy of a log that the season is worked out of. It is held to the leak check as every copy is.
func (m *Made) copyOf(ctx context.Context, name string, o pipeline.Options, so *Options) (*find.Report,
	map[string]string, error) {
	if so.Audience == share.Self {
		r, err := pipeline.Collect(ctx, name, o)
		if err == nil {
			err = so.own(ctx, r, o)
		}
		return r, nil, err
	}
	o.To = pipeline.Findslip
	s := pipeline.ShareOptions{HoldBack: true}
	s.Audience, s.Permissions, s.Receiver, s.Policy, s.Day = so.Audience, so.Permissions, so.Receiver, so.Policy, so.Day
	if so.Audience == Show {
		s.Audience = share.Public
	} else if o.Files != nil {
		s.SavePicture = func(name string, data []byte) error { return so.show(ctx, name, data, o.Limits) }
	}
	r, err := pipeline.Share(ctx, name, o, s)
	if err != nil {
		return nil, nil, err
	}
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
	if so.Audience != Show {
		return r.Copy.Report, r.Copy.Back, nil
	}
	own, err := pipeline.Collect(ctx, name, o)
	if err != nil {
		return nil, nil, err
	}
	m.sources = append(m.sources, source{own, r.Copy})
	out := figuresOf(own, r.Copy)
	for id := range hidden(own, r.Copy) {
		m.hidden[id] = true
	}
	if o.Files != nil {
		err = so.clubPictures(ctx, name, o, s, out)
	}
	return out, nil, err
}

// clubPictures takes the pictures that a club would be given: a public copy has none, and whoever asks for pictures
// on a page to show wants to see the things.
func (so *Options) clubPictures(ctx context.Context, name string, o pipeline.Options, s pipeline.ShareOptions,
	out *find.Report) error {
	s.Audience = share.Club
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
	for _, f := range out.Finds {
		for i := range media[f.ID] {
			f.Media = append(f.Media, find.Media{File: media[f.ID][i].File})
		}
	}
	return err
}

// hidden are the ids of the finds that a copy leaves out.
func hidden(own *find.Report, c *share.Copied) map[string]bool {
	out := map[string]bool{}
	for _, f := range own.Finds {
		out[f.ID] = true
	}
	for _, id := range c.Back {
		delete(out, id)
	}
	return out
}

// figuresOf puts the figures of a log to the words of its copy. What is neither a figure, a code nor in the copy
// stays out, but for the names of detectors, which vouch looks at, and for numbers and days, which Make needs to
// count and takes out of what it made.
func figuresOf(own *find.Report, c *share.Copied) *find.Report {
	out := &find.Report{}
	mine := map[string]*find.Find{}
	for _, f := range own.Finds {
		mine[f.ID] = f
	}
	named := map[string]bool{}
	for _, copied := range c.Report.Finds {
		f, from := *copied, mine[c.Back[copied.ID]]
		if from == nil {
			continue
		}
		f.ID, f.Number, f.Media, f.Found = from.ID, from.Number, nil, nil
		if from.Found != nil {
			f.Found = &find.Found{Date: from.Found.Date}
		}
		asked := *from
		asked.Question = ""
		f.Position, f.Place, f.Question = nil, nil, ""
		if f.Identification == nil && !unidentified(&asked) {
			f.Identification = &find.Identification{} // it was named, though the copy does not tell by whom
		}
		f.Finder, f.Permission, f.Outing = from.Finder, from.Permission, from.Outing
		f.Depth, f.OtherDepths = nil, nil
		if from.Depth != nil {
			f.Depth = figureOf(*from.Depth)
		}
		for _, d := range from.OtherDepths {
			f.OtherDepths = append(f.OtherDepths, *figureOf(d))
		}
		if p := c.Report.Person(copied.Finder); p != nil && !named[from.Finder] {
			named[from.Finder] = true
			out.People = append(out.People, find.Person{ID: from.Finder, Name: p.Name, Handle: p.Handle})
		}
		out.Finds = append(out.Finds, &f)
	}
	for i := range own.Permissions {
		p := find.Permission{ID: own.Permissions[i].ID}
		if q := own.Permissions[i].PloughDepth; q != nil {
			p.PloughDepth = &find.Quantity{Min: q.Min, Max: q.Max, Best: q.Best, Unit: q.Unit, Said: q.Said}
		}
		out.Permissions = append(out.Permissions, p)
	}
	for i := range own.Outings {
		o := &own.Outings[i]
		if lost(o, own, c) {
			continue
		}
		out.Outings = append(out.Outings, find.Outing{ID: o.ID, Permission: o.Permission, Date: o.Date, Start: o.Start,
			End: o.End, Hours: o.Hours, NothingFound: o.NothingFound, Detector: o.Detector})
	}
	return out
}

// lost reports whether all that was found on an outing is left out: then it would say that nothing was found.
func lost(o *find.Outing, own *find.Report, c *share.Copied) bool {
	out, found := hidden(own, c), false
	for _, f := range own.Finds {
		if f.Outing != o.ID && (f.Outing != "" || dayOf(f) != o.Date ||
			f.Permission != "" && f.Permission != o.Permission) {
			continue
		}
		if !out[f.ID] {
			return false
		}
		found = true
	}
	return found
}

// figureOf is a depth without its words.
func figureOf(d find.Depth) *find.Depth {
	out := &find.Depth{Quantity: find.Quantity{Min: d.Min, Max: d.Max, Best: d.Best, Unit: d.Unit, Said: d.Said,
		Resolution: d.Resolution}}
	if d.Basis != nil {
		out.Basis = &find.Term{Code: d.Basis.Code}
	}
	return out
}

// vouch holds the finished figures against the logs: what the public may not see must not be in them. Where a detector
// is named so that it tells something, detectors have no names.
func (m *Made) vouch(ctx context.Context, reports []*find.Report, so Options) error {
	for try := 0; len(m.sources) > 0; try++ {
		kinds, err := m.leaks(ctx)
		if err != nil {
			return err
		}
		if len(kinds) == 0 {
			return nil
		}
		if try == 1 {
			return fmt.Errorf("the page would tell what the public may not see: %s; findslip share LOG --for public says where",
				strings.Join(kinds, ", "))
		}
		for _, r := range reports {
			for i := range r.Outings {
				r.Outings[i].Detector = nil
			}
		}
		m.Season = Make(reports, so)
	}
	return nil
}

func (m *Made) leaks(ctx context.Context) (kinds []string, err error) {
	var figures bytes.Buffer
	if err := m.JSON(&figures); err != nil {
		return nil, err
	}
	for _, s := range m.sources {
		looked, err := share.Leaks(ctx, figures.Bytes(), s.report, s.copied, share.Public, limit.Limits{})
		if err != nil {
			return nil, err
		}
		for _, l := range looked.Leaks {
			if !slices.Contains(kinds, l.Kind) {
				kinds = append(kinds, l.Kind)
			}
		}
	}
	return kinds, nil
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
	if slices.Contains([]share.Audience{share.Public, share.Expert, share.Landowner, share.Club}, so.Audience) {
		return nil
	}
	o.Level, o.Brief, o.Files = validate.NoLevel, true, nil
	r, err := pipeline.Check(ctx, name, o)
	if err != nil {
		return err
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
