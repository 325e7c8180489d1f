package pipeline

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/register"
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
	// Keep is the register that holds what is told and what was told before. Nil: nothing is compared, and
	// the ids of the copy are made with a secret that is then forgotten.
	Keep *RegisterFile
	// Earlier says what is done with finds of which the receiver would know more than the copy alone tells,
	// for what was told before: empty, nothing is written and they are named; GoOn, TellAgain, Withhold.
	Earlier string
	// HoldBack withholds the members in whose words something leaks, in place of stopping.
	HoldBack bool
	Name     string // of the file that the copy goes to, without folder; it is looked through too
	// Cut takes out of each find of the copy what whoever asks for it does not show; nil: all of it is shown.
	Cut func(*find.Find)
	// SavePicture takes the pictures of the copy as they are made, clean, upright and under their
	// new names; what it was given is not to be used when Share returns leaks or an error. Nil:
	// pictures are named in the copy and not made.
	SavePicture func(name string, data []byte) error
}

// What can be done with finds of which something finer was told before.
const (
	GoOn      = "go-on"    // they go as they are
	TellAgain = "again"    // the earlier region and day are told again
	Withhold  = "withhold" // they are left out
)

// Shared is a finished copy for one audience. Close gives up the files in which it is kept.
type Shared struct {
	Made      bool              // there is a copy to be written; else it leaks or something else stops it
	Told      []share.Narrowing // of what was told before that stops it, or, with GoOn, that was gone past
	Unlooked  []string          // parts of the copy that could not be looked into, which stops it
	Leaks     []share.Leak      // what stopped it; empty if nothing was found
	HeldBack  []share.Span      // what ShareOptions.HoldBack withheld
	NameLeaks []share.Leak      // what ShareOptions.Name tells; it stops nothing
	Spans     []share.Span      // where in the words of the copy that is, as far as it can be told
	Copy      *share.Copied
	Left      int      // finds that are not in the copy at all
	Unread    int      // entries of the source that could not be read, so that they are not in the copy
	LeftOut   []string // pictures of the source that could not be copied, and why
	Danger    []string // what is said of danger and of the dead in the log, in words, where it was asked before it was cut
	danger    map[string][]*notice.Kind
	source    share.Source
	out       *held
	search    *share.Search
	shelves   []*shelf
	keep      *RegisterFile
}

// Pass writes the copy in the format that was asked for.
func (r *Shared) Pass(w io.Writer) error { return r.out.pass(w) }

// Data is the copy in the format that was asked for; nil if there is none.
func (r *Shared) Data() []byte {
	var b bytes.Buffer
	if !r.Made || r.Pass(&b) != nil {
		return nil
	}
	return b.Bytes()
}

// Notices are those on the copy.
func (r *Shared) Notices(ctx context.Context, o Options) (list notice.List, err error) {
	err = eachNotice(ctx, r.Copy.Stream(ctx), o, func(_ string, n *notice.Notice) { list.Add(*n) })
	list.Sort()
	return list, err
}

// Tells reports whether words tell something that the copy must not; it is asked before Close.
func (r *Shared) Tells(ctx context.Context, words string) (bool, error) {
	leaks, err := r.search.Name(ctx, words)
	return len(leaks) > 0, err
}

// Close gives up what the copy was made of and its bytes.
func (r *Shared) Close() {
	for _, s := range r.shelves {
		s.close()
	}
	if r.out != nil {
		r.out.close()
	}
}

// Share reads a report of any format, makes a copy for an audience and looks through its finished
// bytes for leaks. Every copy for others is made here, also those of hand-overs and pages. Pictures are taken
// from Options.Files. It goes through the report twice and keeps its finds in a temporary file when they are many;
// a page it holds whole, with its pictures. Once the copy is written, Commit notes it in the register.
func Share(ctx context.Context, name string, o Options, s ShareOptions) (*Shared, error) {
	if o.To == Tables {
		return nil, errors.New("a copy is not written as tables; write a workbook or CSV")
	}
	if o.To == JSONLD || o.To == GPKG {
		return nil, errors.New("a copy is not written as linked data or GeoPackage; write it as JSON, and convert that")
	}
	source, kept, unread, err := shelve(ctx, name, o)
	if err != nil {
		return nil, err
	}
	if s.Keep != nil {
		s.Register = s.Keep.Register
	}
	s.Again = s.Earlier == TellAgain
	s.Unwanted(o.Profiles)
	r := &Shared{Unread: unread, source: source, keep: s.Keep, shelves: []*shelf{kept}}
	if err := r.share(ctx, name, o, s); err != nil {
		r.Close()
		return nil, fmt.Errorf("sharing %s: %w", name, err)
	}
	return r, nil
}

func (r *Shared) share(ctx context.Context, name string, o Options, s ShareOptions) (err error) {
	if s.Audience == share.Public || s.Audience == share.Landowner || o.To == Page || len(o.Profiles) > 0 {
		if err := r.dangers(ctx, o, &s.Options); err != nil {
			return err
		}
	}
	if err := r.make(ctx, name, o, &s); err != nil {
		return err
	}
	if err := r.warn(ctx, o.Language); err != nil {
		return err
	}
	if len(r.Told) > 0 && s.Earlier != GoOn {
		return nil
	}
	if o.To == Page {
		if err := r.Copy.Whole(ctx); err != nil {
			return err
		}
	}
	var shown map[string][]byte
	if o.Files != nil && s.Audience != share.Self && (o.To == Page || s.SavePicture != nil) {
		if shown, err = r.pictures(ctx, o, s); err != nil {
			return err
		}
	}
	if r.search, err = share.NewSearch(ctx, r.source, r.Copy, s.Audience); err != nil {
		return err
	}
	if err := r.finish(ctx, o, s, shown); err != nil {
		return err
	}
	if len(r.Leaks) > 0 {
		if r.Spans, err = r.search.Spans(ctx, r.Copy); err != nil {
			return err
		}
	}
	if len(r.Spans) > 0 && s.HoldBack {
		changed, err := share.HoldBack(ctx, r.Copy, r.Spans)
		if err != nil {
			return err
		}
		if changed {
			if r.HeldBack, r.Spans = r.Spans, nil; r.finish(ctx, o, s, shown) != nil {
				return ctx.Err()
			}
		}
	}
	r.NameLeaks, err = r.search.Name(ctx, s.Name)
	r.Made = len(r.Leaks)+len(r.Unlooked) == 0
	return err
}

// make makes the copy, and compares it with what was told before.
func (r *Shared) make(ctx context.Context, name string, o Options, s *ShareOptions) error {
	for range 2 {
		to := newShelf(o)
		to.cut = s.Cut
		r.shelves = append(r.shelves, to)
		copied, err := share.CopyTo(ctx, r.source, to, s.Options)
		if err != nil {
			return err
		}
		if o.Generator != "" {
			copied.Report.Generator = o.Generator
		}
		copied.Names = append(copied.Names, name)
		r.Copy, r.Left, r.Told = copied, copied.Left, nil
		if s.Keep != nil {
			r.Told = copied.Narrowings()
		}
		if s.Earlier != Withhold || len(r.Told) == 0 {
			return nil
		}
		for _, n := range r.Told {
			s.Without = append(s.Without, n.ID)
		}
	}
	return nil
}

// Commit notes in the register that the copy was handed out as a file, keeps the register, and returns the
// earlier copies that it takes the place of. sum is the SHA-256 sum of the file, in hexadecimal. Without a register
// it does nothing.
func (r *Shared) Commit(ctx context.Context, at, day, file, sum string, limits limit.Limits) (recalled []register.Event,
	err error) {
	if r.keep == nil {
		return nil, nil
	}
	if recalled, err = r.Note(ctx, at, day, file, sum); err != nil {
		return nil, err
	}
	return recalled, r.keep.Keep(limits)
}

// Note is Commit for whoever keeps the register elsewhere than in a file.
func (r *Shared) Note(ctx context.Context, at, day, file, sum string) (recalled []register.Event, err error) {
	if r.keep == nil {
		return nil, nil
	}
	events, err := r.Copy.Issue(ctx, at, day, file, sum)
	if err != nil {
		return nil, err
	}
	for _, e := range events {
		for _, old := range r.keep.Events {
			if old.Kind == register.Copy && slices.Contains(e.Supersedes, old.Copy) &&
				!(old.Day == e.Day && filepath.Ext(old.File) != filepath.Ext(file)) && // the same in another format
				!slices.ContainsFunc(recalled, func(r register.Event) bool { return r.Copy == old.Copy && r.File == old.File }) {
				old.Finds, old.Around = nil, nil
				recalled = append(recalled, old)
				r.keep.Add(register.Event{Kind: register.Recall, At: at, Copy: old.Copy, Day: day})
			}
		}
		r.keep.Add(e)
	}
	return recalled, nil
}

// Sum is the SHA-256 sum of the copy, in hexadecimal.
func (r *Shared) Sum() string {
	h := sha256.New()
	if !r.Made || r.Pass(h) != nil {
		return ""
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Whose says of which find and field of the owner's a leak tells, and in which cell of the owner's sheet that
// stands; empty where that is not known.
func (r *Shared) Whose(l share.Leak) string {
	if r == nil || r.source.Finds == nil {
		return ""
	}
	return whose(r.source, l)
}

func whose(source share.Source, l share.Leak) string {
	parts := strings.Split(strings.TrimPrefix(l.Member, "/"), "/")
	if len(parts) < 3 || parts[0] != "finds" {
		return ""
	}
	i, err := strconv.Atoi(parts[1])
	if err != nil || i >= source.Finds.Len() {
		return ""
	}
	f, err := source.Finds.Get(i)
	if err != nil {
		return ""
	}
	label := f.Number
	if label == "" {
		label = f.Name
	}
	text := "your find " + label + ", " + strings.Join(parts[2:], ".")
	if src := f.Source; src != nil && src.Row.Known() {
		text += ", row " + src.Row.String()
		if src.Sheet != "" {
			text += " of sheet " + src.Sheet
		}
	}
	return " (" + text + ")"
}

// finish writes the copy in its format and looks through the bytes.
func (r *Shared) finish(ctx context.Context, o Options, s ShareOptions, shown map[string][]byte) error {
	if r.out != nil {
		r.out.close()
	}
	r.out = &held{unfinished: o.Unfinished}
	var err error
	if o.To == Page {
		var list notice.List
		if list, err = noticesOn(ctx, r.carried(find.StreamOf(r.Copy.Report).Until(ctx)), o); err == nil {
			err = share.Sheet(r.out, r.Copy.Report,
				share.SheetOptions{Tool: o.Generator, Day: s.Day, Notices: list, Pictures: shown, Language: o.Language,
					LeftOut: r.Copy.NotShown})
		}
	} else {
		err = Encode(r.out, r.Copy.Stream(ctx), o)
	}
	if err != nil {
		return err
	}
	size, err := r.out.size()
	if err != nil {
		return err
	}
	looked, err := r.search.File(ctx, r.out, size, ownLimits)
	r.Leaks, r.Unlooked = looked.Leaks, looked.Unread
	return err
}

// Collect reads a whole report of any format and normalises it, in memory.
func Collect(ctx context.Context, name string, o Options) (*find.Report, error) {
	r, _, err := collectAll(ctx, name, o, nil)
	return r, err
}

// CollectPart is Collect for whoever needs a part of each find: cut takes out the rest, and the limits count what
// stays.
func CollectPart(ctx context.Context, name string, o Options, cut func(*find.Find)) (*find.Report, error) {
	r, _, err := collectAll(ctx, name, o, cut)
	return r, err
}

// collectAll reads a whole report, normalises it, and counts what could not be read and was passed over.
func collectAll(ctx context.Context, name string, o Options, cut func(*find.Find)) (r *find.Report, unread int,
	err error) {
	in, err := Open(ctx, name, o)
	if err != nil {
		return nil, 0, err
	}
	defer in.Close()
	o.Read = in.reading(o.Read)
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
	read := normalise.Stream(&entries, o.Read)
	if cut != nil {
		read = read.Map(func(e *find.Entry, _ bool) bool {
			if e.Raw = nil; e.Find != nil {
				cut(e.Find)
			}
			return true
		})
	}
	source, _, err := find.Collect(holding(read, o.Limits))
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
func noticesOn(ctx context.Context, in *find.Stream, o Options) (list notice.List, err error) {
	err = eachNotice(ctx, in, o, func(_ string, n *notice.Notice) { list.Add(*n) })
	list.Sort()
	return list, err
}

// eachNotice validates a stream, without asking for a level, and calls yield for each notice.
func eachNotice(ctx context.Context, in *find.Stream, o Options, yield func(id string, n *notice.Notice)) error {
	v, err := validate.New(validate.Options{Level: validate.NoLevel, AsOf: o.Read.AsOf, Settings: o.Settings})
	if err != nil {
		return err
	}
	checked := v.Stream(in)
	for i := range checked.Notices {
		yield("", &checked.Notices[i])
	}
	for e, err := range checked.Entries {
		if err != nil {
			return err
		}
		for i := range e.Notices {
			n := e.Notices[i]
			if e.Find != nil && n.Find == "" {
				n.Find = e.Label()
			}
			id := ""
			if e.Find != nil {
				id = e.Find.ID
			}
			yield(id, &n)
		}
	}
	return ctx.Err()
}

// pictures makes the pictures of the copy, and takes out of it those of which none can be made.
func (r *Shared) pictures(ctx context.Context, o Options, s ShareOptions) (shown map[string][]byte, err error) {
	shown = map[string][]byte{}
	limits := o.Limits.WithDefaults()
	sums, gone, renamed := map[string]string{}, map[string]bool{}, map[string]string{}
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
			to := strings.TrimSuffix(name, path.Ext(name)) + ext
			renamed[name] = to
			r.Copy.Pictures[to] = r.Copy.Pictures[name]
			delete(r.Copy.Pictures, name)
			name = to
		}
		sum := sha256.Sum256(data)
		sums[name] = hex.EncodeToString(sum[:])
		if o.To == Page {
			shown[name] = data
		} else if err := s.SavePicture(name, data); err != nil {
			return nil, err
		}
	}
	return shown, r.namePictures(ctx, renamed, gone, sums, o.To == Page)
}

// namePictures has the finds of the copy name the pictures as they were saved: by their new names, with their sums, and
// without those that are gone.
func (r *Shared) namePictures(ctx context.Context, renamed map[string]string, gone map[string]bool,
	sums map[string]string, page bool) error {
	return r.Copy.Change(ctx, func(f *find.Find) bool {
		if len(f.Media) == 0 {
			return false
		}
		for i := range f.Media {
			if to := renamed[f.Media[i].File]; to != "" {
				f.Media[i].File = to
			}
		}
		if !page { // a page says which views are not at hand
			f.Media = slices.DeleteFunc(f.Media, func(m find.Media) bool { return gone[m.File] })
		}
		for i := range f.Media {
			if !r.Copy.Sums {
				continue // two who hold copies would know by it that they have the same find
			}
			f.Media[i].SHA256 = sums[f.Media[i].File]
		}
		if len(f.Media) == 0 {
			f.Media = nil
			if f.Absent == nil {
				f.Absent = map[string]string{}
			}
			f.Absent["/media"] = "withheld"
		}
		return true
	})
}

func cleanPicture(ctx context.Context, files fs.FS, name string, o picture.Options, limits limit.Limits) ([]byte,
	error) {
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
