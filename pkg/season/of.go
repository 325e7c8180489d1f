package season

import (
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

	unsafe map[string]bool // ids of finds of which a rule of safety speaks: they are no exhibits
	held   [][]*find.Find  // finds of each log that are not counted: an outing of theirs alone is not either
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

	sources []source        // to show: the logs, with their copies
	hidden  map[string]bool // ids of finds that a log keeps out of what is shown
	unsafe  map[string]bool // ids of finds of which a rule of safety speaks
	look    int             // places of the logs that need a second look
}

// Of reads logs of any format and works a season out of what the audience may see of them. Pictures are taken from
// pipeline.Options.Files.
func Of(ctx context.Context, names []string, o pipeline.Options, so Options) (*Made, error) {
	so.Audience = cmp.Or(so.Audience, Show)
	so.Places = exact(so.Audience)
	so.Pictures = map[string]template.URL{}
	m := Made{hidden: map[string]bool{}, unsafe: map[string]bool{}}
	so.unsafe = map[string]bool{}
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
	ids := map[string]bool{}
	for i, r := range reports {
		r.Finds = slices.DeleteFunc(r.Finds, func(f *find.Find) bool {
			id := cmp.Or(backs[i][f.ID], f.ID)
			twice := id != "" && ids[id] || m.hidden[id]
			ids[id], so.unsafe[f.ID] = true, m.unsafe[id]
			return twice
		})
	}
	m.Season = Make(reports, so)
	if so.Audience == Show {
		if err := m.figures(ctx, reports, so); err != nil {
			return nil, err
		}
	}
	if so.Audience == share.Self {
		m.ToLook = m.look
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
	if so.Register != nil {
		s.Register = so.Register(name)
	}
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
	for id := range r.Copy.Hidden() {
		m.hidden[id] = true
	}
	if so.Audience == Show {
		for _, f := range r.Copy.Report.Finds {
			f.Number = r.Copy.Label(f) // by which the finder asks for it; it is taken out at the end
		}
		own, err := pipeline.Collect(ctx, name, o)
		if err != nil {
			return nil, nil, err
		}
		m.sources = append(m.sources, source{own, r.Copy})
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
			if s := e.Notices[i].Kind.Severity; s == notice.Error || s == notice.Warning {
				m.look++
			}
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
