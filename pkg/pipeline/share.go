package pipeline

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/validate"
)

// Page is the form of a page to print for a landowner or an expert. Only Share writes it; no
// reader takes it back.
const Page Format = "html"

const pageSide = 1600 // longer side, in pixels, of a picture within a page

// ShareOptions of Share.
type ShareOptions struct {
	share.Options
	// HoldBack withholds the members in whose words something leaks, in place of stopping.
	HoldBack bool
	Day      string // of a page; empty: left open
	Name     string // of the file that the copy goes to, without folder; it is looked through too
	// SavePicture takes the pictures of the copy as they are made, clean, upright and under their
	// new names; what it was given is not to be used when Share returns leaks or an error. Nil:
	// pictures are named in the copy and not made.
	SavePicture func(name string, data []byte) error
}

// Shared is a finished copy for one audience.
type Shared struct {
	Data      []byte       // the copy in the format asked for; nil if it leaks
	Leaks     []share.Leak // what stopped it; empty if nothing was found
	HeldBack  []share.Span // what ShareOptions.HoldBack withheld
	NameLeaks []share.Leak // what ShareOptions.Name tells; it stops nothing
	Spans     []share.Span // where in the words of the copy that is, as far as it can be told
	Copy      *share.Copied
	Left      int         // finds that are not in the copy at all
	Unread    int         // entries of the source that could not be read, so that they are not in the copy
	LeftOut   []string    // pictures of the source that could not be copied, and why
	Notices   notice.List // on the copy
	source    *find.Report
}

// Share reads a report of any format, makes a copy for an audience and looks through its finished
// bytes for leaks. Pictures are taken from Options.Files. It holds the whole report in memory, and
// for a page its pictures.
func Share(ctx context.Context, name string, o Options, s ShareOptions) (*Shared, error) {
	source, unread, err := collectAll(ctx, name, o)
	if err != nil {
		return nil, err
	}
	copied, err := share.Copy(ctx, source, s.Options)
	if err != nil {
		return nil, fmt.Errorf("sharing %s: %w", name, err)
	}
	if o.Generator != "" {
		copied.Report.Generator = o.Generator
	}
	r := &Shared{Copy: copied, Left: copied.Left, Unread: unread, source: source}
	var shown map[string][]byte
	if o.Files != nil && s.Audience != share.Self && (o.To == Page || s.SavePicture != nil) {
		if shown, err = r.pictures(ctx, o, s); err != nil {
			return nil, fmt.Errorf("sharing %s: %w", name, err)
		}
	}
	data, err := r.finish(ctx, o, s, shown)
	if err == nil && len(r.Leaks) > 0 && s.HoldBack {
		var spans []share.Span
		if spans, err = share.Spans(ctx, source, copied.Report, s.Audience); err == nil && share.HoldBack(copied.Report, spans) {
			r.HeldBack = spans
			data, err = r.finish(ctx, o, s, shown)
		}
	}
	if err == nil {
		r.NameLeaks, err = share.LeaksInName(ctx, s.Name, source, copied.Report, s.Audience)
	}
	if err == nil && len(r.Leaks) > 0 {
		r.Spans, err = share.Spans(ctx, source, copied.Report, s.Audience)
	}
	if err != nil {
		return nil, fmt.Errorf("sharing %s: %w", name, err)
	}
	if len(r.Leaks) == 0 {
		r.Data = data
	}
	return r, nil
}

// finish writes the copy in its format, with the notices on it, and looks through the bytes.
func (r *Shared) finish(ctx context.Context, o Options, s ShareOptions, shown map[string][]byte) (data []byte, err error) {
	if r.Notices, err = noticesOn(ctx, r.Copy.Report, o); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if o.To == Page {
		err = share.Sheet(&out, r.Copy.Report, share.SheetOptions{Tool: o.Generator, Day: s.Day, Notices: r.Notices, Pictures: shown})
	} else {
		err = Encode(&out, find.StreamOf(r.Copy.Report).Until(ctx), o)
	}
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r.Leaks, err = share.Leaks(ctx, out.Bytes(), r.source, r.Copy.Report, s.Audience, ownLimits)
	return out.Bytes(), err
}

// collect reads a whole report and normalises it.
func collect(ctx context.Context, name string, o Options) (*find.Report, error) {
	r, _, err := collectAll(ctx, name, o)
	return r, err
}

// collectAll is collect, and counts what could not be read and was passed over.
func collectAll(ctx context.Context, name string, o Options) (r *find.Report, unread int, err error) {
	in, err := Open(ctx, name, o)
	if err != nil {
		return nil, 0, err
	}
	defer in.Close()
	o.Read.Table = in.Format == XLSX || in.Format == CSV
	entries := *in.Stream
	entries.SetEntries(func(yield func(*find.Entry, error) bool) {
		for e, err := range in.Stream.Entries {
			if err == nil && e.Find == nil && e.Notices.Count(notice.Error) > 0 {
				unread++
			}
			if !yield(e, err) {
				return
			}
		}
	})
	source, _, err := find.Collect(holding(normalise.Stream(&entries, o.Read), o.Limits))
	if err != nil {
		return nil, 0, fmt.Errorf("reading %s: %w", name, err)
	}
	if err := in.changed(); err != nil {
		return nil, 0, err
	}
	return source, unread, ctx.Err()
}

// ownLimits are for what was made here of a report that kept to the limits.
var ownLimits = limit.Limits{Held: -1, Expanded: -1, Entries: -1}

// noticesOn validates a copy, without asking for a level.
func noticesOn(ctx context.Context, r *find.Report, o Options) (notice.List, error) {
	v, err := validate.New(validate.Options{Level: validate.NoLevel, AsOf: o.Read.AsOf, Settings: o.Settings})
	if err != nil {
		return nil, err
	}
	checked := v.Stream(find.StreamOf(r).Until(ctx))
	list := slices.Clone(checked.Notices)
	for e, err := range checked.Entries {
		if err != nil {
			return nil, err
		}
		for i := range e.Notices {
			n := e.Notices[i]
			if e.Find != nil && n.Find == "" {
				n.Find = e.Label()
			}
			list.Add(n)
		}
	}
	list.Sort()
	return list, nil
}

// pictures makes the pictures of the copy, and takes out of it those of which none can be made.
func (r *Shared) pictures(ctx context.Context, o Options, s ShareOptions) (shown map[string][]byte, err error) {
	shown = map[string][]byte{}
	limits := o.Limits.WithDefaults()
	sums, gone := map[string]string{}, map[string]bool{}
	for _, name := range slices.Sorted(maps.Keys(r.Copy.Pictures)) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		from := r.Copy.Pictures[name]
		po := picture.Options{MaxPixels: limits.Pixels}
		if o.To == Page {
			po.MaxSide = pageSide
		}
		data, err := cleanPicture(ctx, o.Files, from, po, limits)
		if stopped := ctx.Err(); stopped != nil {
			return nil, stopped
		}
		if err != nil {
			gone[name] = true
			r.LeftOut = append(r.LeftOut, fmt.Sprintf("%s: %v", from, err))
			continue
		}
		if ext := picture.Extension(data); ext != path.Ext(name) { // a PNG picture that is called .jpg
			name = r.rename(name, strings.TrimSuffix(name, path.Ext(name))+ext)
		}
		sum := sha256.Sum256(data)
		sums[name] = hex.EncodeToString(sum[:])
		if o.To == Page {
			shown[name] = data
		} else if err := s.SavePicture(name, data); err != nil {
			return nil, err
		}
	}
	for _, f := range r.Copy.Report.Finds {
		if len(f.Media) == 0 {
			continue
		}
		if o.To != Page { // a page says which views are not at hand
			f.Media = slices.DeleteFunc(f.Media, func(m find.Media) bool { return gone[m.File] })
		}
		for i := range f.Media {
			f.Media[i].SHA256 = sums[f.Media[i].File]
		}
		if len(f.Media) == 0 {
			f.Media = nil
			if f.Absent == nil {
				f.Absent = map[string]string{}
			}
			f.Absent["/media"] = "withheld"
		}
	}
	return shown, nil
}

// rename gives a picture of the copy another name.
func (r *Shared) rename(from, to string) string {
	r.Copy.Pictures[to] = r.Copy.Pictures[from]
	delete(r.Copy.Pictures, from)
	for _, f := range r.Copy.Report.Finds {
		for i := range f.Media {
			if f.Media[i].File == from {
				f.Media[i].File = to
			}
		}
	}
	return to
}

func cleanPicture(ctx context.Context, files fs.FS, name string, o picture.Options, limits limit.Limits) ([]byte, error) {
	clean := path.Clean(name)
	if !fs.ValidPath(clean) {
		return nil, fmt.Errorf("the name leads outside the folder of the pictures")
	}
	f, err := files.Open(clean)
	if err != nil {
		return nil, fmt.Errorf("there is no such picture that can be read")
	}
	defer f.Close()
	data, err := limit.ReadAll(f, "picture", limits.Picture)
	if over := limit.Of(err); over != nil {
		return nil, over
	} else if err != nil {
		return nil, fmt.Errorf("the picture cannot be read")
	}
	upright, err := picture.Clean(ctx, data, o)
	if errors.Is(err, picture.ErrPixels) {
		return nil, limit.Over("pixels", limits.Pixels)
	}
	return upright, err
}
