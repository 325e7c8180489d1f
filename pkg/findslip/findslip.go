// Package findslip checks, normalises, converts and shares find reports.
//
//	find := []byte(`{"id": "urn:uuid:...", "name": "bell", "depth": {"verbatim": "8"}}`)
//	notices, err := findslip.CheckFind(find, findslip.Options{})
//	for _, n := range notices {
//		fmt.Println(n) // such as: warning at /depth: the number has no unit [unit-missing]
//	}
//
// It is the one package with a promise: within version 1 no name here is taken away or changes its
// meaning, and a program that compiles goes on compiling. Everything else in this module may change
// between any two versions. Find and Report are the records of pkg/find: their fields follow the
// schemas of version 1, their methods are not promised.
//
// An error says that the work could not be done; what is to be said of the data is a Notice and never an
// error. The functions keep nothing of what they are given, change nothing of it but where they
// say so, and are safe for concurrent use. Files are read as streams: memory holds the notices and what
// rules compare across finds, and for Share the whole report.
package findslip

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"testing/fstest"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/validate"
)

// Find is one find, and Report a file of finds with who, where and by whose permission.
type (
	Find   = find.Find
	Report = find.Report
)

// An Input is what is read: a file by its name, or bytes with the name that their file would have. The
// format is told by the name, else by the content.
type Input struct {
	Name string
	Data []byte // nil: the file is opened
	FS   fs.FS  // where the file is looked up; nil: the file system of the machine
}

// Options say what the data leave open. The zero value assumes nothing and asks for the level that is the default.
type Options struct {
	From, To  string // formats: findslip, jsonl, geojson, xlsx, csv, gpx, kml; From empty: as the input tells
	Level     string // the id of a shipped level, or none
	AsOf      string // the day that counts as today, such as 2026-04-12; empty: nothing is in the future
	Unit      string // of lengths and weights that state none: mm, cm, in, g, ...
	DateOrder string // of day, month and year where nothing proves it: dmy, mdy or ymd
	Pivot     int    // first year that two digits may mean; 0 refuses years of two digits
	System    string // of bare eastings and northings, such as EPSG:27700
	ReportID  string // of a report that states none
	Pictures  fs.FS  // where the pictures of the report lie; nil: they are not looked at
}

// A Notice is one thing said about the data.
type Notice struct {
	Code     string // keeps its meaning for ever
	Severity string // error, warning or info
	Caution  bool   // law or safety
	Title    string // one line, the same for all notices with this code
	Message  string // one sentence about this very place; it quotes no position and no name
	Help     string // what to do next
	File     string
	Pointer  string // JSON Pointer (RFC 6901) in the report, or in the find that was checked
	Sheet    string // of a workbook
	Cell     string // of a sheet, such as D7
	Line     int    // of a text file, from 1
	Find     string // the number on the bag, else the id
	Accepted string // the reason with which the report accepts it; empty: it is open
}

// String returns the notice in one line.
func (n Notice) String() string {
	place := n.Pointer
	if n.Cell != "" {
		place = strings.TrimPrefix(n.Sheet+"!"+n.Cell, "!")
	}
	if place != "" {
		place = " at " + place
	}
	return fmt.Sprintf("%s%s: %s [%s]", n.Severity, place, n.Message, n.Code)
}

// A Result is what came of reading a file. Notices come in the order of the report, those about danger and
// law first.
type Result struct {
	Format  string  // of the input
	Report  *Report // without its finds
	Finds   int
	Notices []Notice
	Lost    []Loss // what the format that was written cannot hold
}

// A Loss is something of this very report that the format written cannot hold.
type Loss struct {
	Field string // flat name of the member, or the name of a part of the report
	Times int
}

// ErrLeak says that Share wrote nothing, since its copy would tell what the audience may not see. The
// error that wraps it says where.
var ErrLeak = errors.New("the copy would tell what its audience may not see")

// Check reads a file of any format, normalises and judges it, and changes nothing.
func Check(ctx context.Context, in Input, o Options) (*Result, error) {
	p, err := o.pipeline(&in)
	if err != nil {
		return nil, err
	}
	r, err := pipeline.Check(ctx, in.Name, p)
	if err != nil {
		return nil, err
	}
	return result(r), nil
}

// CheckFind judges one find in JSON, after normalising it in memory. What a find refers to - people,
// permissions, outings, other finds - is not looked for.
func CheckFind(raw []byte, o Options) ([]Notice, error) {
	if v := jsontext.Value(raw); !v.IsValid() || v.Kind() != '{' {
		return nil, errors.New("the find is not one JSON object")
	}
	in := Input{Name: "find.json", Data: fmt.Appendf(nil, `{"findslip": %q, "finds": [%s]}`, find.Version, raw)}
	o.From = string(pipeline.Findslip)
	r, err := Check(context.Background(), in, o)
	if err != nil {
		return nil, err
	}
	var notices []Notice
	for _, n := range r.Notices {
		pointer, inside := strings.CutPrefix(n.Pointer, "/finds/0")
		if n.Code == "reference-unknown" || !inside && pointer != "" {
			// it is about the report around the find; what has no pointer is about all finds, of which it is the only one
			continue
		}
		n.Pointer, n.File, n.Line = pointer, "", 0
		notices = append(notices, n)
	}
	return notices, nil
}

// CheckStruct is CheckFind for a find as a struct.
func CheckStruct(f *Find, o Options) ([]Notice, error) {
	raw, err := find.Marshal(f)
	if err != nil {
		return nil, err
	}
	return CheckFind(raw, o)
}

// Normalise sets the canonical values of a find beside the words that are in it, and returns what it had
// to assume and what it could not read.
func Normalise(f *Find, o Options) ([]Notice, error) {
	p, err := o.pipeline(&Input{})
	if err != nil {
		return nil, err
	}
	var list notice.List
	list.Add(normalise.Find(f, nil, p.Read)...)
	list.Sort()
	return notices(list), nil
}

// Convert reads a file of any format, normalises and judges it, and writes it in the format Options.To.
// When it returns an error, what was written is not to be used.
func Convert(ctx context.Context, in Input, w io.Writer, o Options) (*Result, error) {
	p, err := o.pipeline(&in)
	if err != nil {
		return nil, err
	}
	r, err := pipeline.Convert(ctx, in.Name, w, p)
	if err != nil {
		return nil, err
	}
	return result(r), nil
}

// Share writes a copy for an audience: partner, landowner, expert, recorder or public. The finished copy is
// looked through for what was taken away; if something of it is found, the error is ErrLeak and nothing is written.
func Share(ctx context.Context, in Input, audience string, w io.Writer, o Options) (*Result, error) {
	p, err := o.pipeline(&in)
	if err != nil {
		return nil, err
	}
	var s pipeline.ShareOptions
	if s.Audience, err = share.ParseAudience(audience); err != nil {
		return nil, err
	}
	shared, err := pipeline.Share(ctx, in.Name, p, s)
	if err != nil {
		return nil, err
	}
	defer shared.Close()
	if len(shared.Leaks) > 0 {
		return nil, fmt.Errorf("%w: %v", ErrLeak, shared.Leaks)
	}
	list, err := shared.Notices(ctx, p)
	if err != nil {
		return nil, err
	}
	if err := shared.Pass(w); err != nil {
		return nil, err
	}
	head := *shared.Copy.Report
	head.Finds = nil
	return &Result{Format: string(p.To), Report: &head, Finds: shared.Copy.Len(),
		Notices: notices(list)}, nil
}

// pipeline returns the options as the pipeline has them, and names an input of bytes.
func (o Options) pipeline(in *Input) (p pipeline.Options, err error) {
	p = pipeline.Options{ReportID: o.ReportID, Files: o.Pictures, FS: in.FS}
	p.Read.Pivot, p.Read.System = o.Pivot, o.System
	if in.Data != nil {
		if in.Name == "" {
			p.Stdin, in.Name = bytes.NewReader(in.Data), "-"
		} else {
			p.FS = fstest.MapFS{in.Name: &fstest.MapFile{Data: in.Data}}
		}
	}
	set := func(what, text string, parse func(string) error) {
		if text != "" && err == nil {
			if err = parse(text); err != nil {
				err = fmt.Errorf("option %s: %w", what, err)
			}
		}
	}
	set("From", o.From, func(s string) (err error) { p.From, err = pipeline.ParseFormat(s); return err })
	set("To", o.To, func(s string) (err error) { p.To, err = pipeline.ParseFormat(s); return err })
	set("AsOf", o.AsOf, func(s string) (err error) { p.Read.AsOf, err = edtf.ParseDay(s); return err })
	set("Unit", o.Unit, func(s string) (err error) { p.Read.Unit, err = quantity.ParseUnit(s); return err })
	set("DateOrder", o.DateOrder, func(s string) (err error) { p.Read.Order, err = edtf.ParseOrder(s); return err })
	set("System", o.System, func(s string) error {
		if _, ok := coordinate.SystemByCode(s); !ok {
			return fmt.Errorf("%q is no system that is known", s)
		}
		return nil
	})
	if o.Level == "none" {
		p.Level = validate.NoLevel
	} else {
		set("Level", cmp.Or(o.Level, p.Level.String()), func(s string) (err error) {
			p.Level, err = validate.ParseLevel(s)
			return err
		})
	}
	return p, err
}

func result(r *pipeline.Result) *Result {
	out := &Result{Format: string(r.Format), Report: r.Report, Finds: r.Summary.Finds,
		Notices: append(notices(r.Notices), notices(r.Accepted)...)}
	for _, l := range r.Lost {
		out.Lost = append(out.Lost, Loss(l))
	}
	return out
}

func notices(list notice.List) []Notice {
	out := make([]Notice, len(list))
	for i, n := range list {
		out[i] = Notice{Code: n.Kind.Code, Severity: n.Kind.Severity.String(), Caution: n.Kind.Caution, Title: n.Kind.Title,
			Message: n.Message, Help: n.HelpText(),
			File: n.File, Pointer: n.Pointer, Sheet: n.Sheet, Cell: n.Cell, Line: n.Line, Find: n.Find, Accepted: n.Accepted}
	}
	return out
}
