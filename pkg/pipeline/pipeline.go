// Package pipeline knows the formats by name and runs the steps over a stream of finds: decode,
// normalise, validate, encode. It is what the command calls, and what a program calls that does
// not want to wire the floors below itself.
//
//	result, err := pipeline.Check(ctx, "season.xlsx", pipeline.Options{})
//	for _, n := range result.Notices {
//		fmt.Println(n.Place(), n.Message)
//	}
//
// Finds pass one at a time. Memory holds the header of the report, the notices, and what rules
// that look across finds must remember.
//
// This package is unstable: it may change between any two versions.
package pipeline

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"path/filepath"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/geojson"
	"github.com/findslip/findslip/pkg/gpx"
	"github.com/findslip/findslip/pkg/kml"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/validate"
)

// Options steer reading, judging and writing. The zero value tells formats by name and content,
// assumes nothing about what the cells leave open, and asks for level log.
type Options struct {
	From, To  Format               // empty: by name, else by content
	Read      normalise.Options    // what cells leave open: unit, date order, grid system, today
	Table     spreadsheet.Options  // sheet, column map, encoding
	ReportID  string               // id of the report where the source has none
	Since     string               // an earlier conversion of the same log, whose ids are kept, and what In withholds
	Rules     string               // which rules are asked, as validate.Select reads it; empty: the default
	Level     validate.Level       // that is asked for; the zero value is the default, validate.NoLevel asks for none
	Profiles  []*profile.Effective // asked in the place of a level
	Shunned   []profile.Spot       // where finds of other logs lay that nobody is to touch
	Settings  *validate.Settings
	Beside    *Beside // how settings files are used; nil: not at all
	FS        fs.FS   // where the names of files to read are looked up; nil: the file system of the machine
	Files     fs.FS   // where the pictures of the report lie; nil: they are not looked at
	Plain     bool    // tables without the canonical columns
	Language  string  // of the headings of a workbook; empty: en
	BOM       bool    // begin a CSV file with a byte order mark
	Delimiter string  // between the cells of a CSV file that is written: comma (the default), semicolon or tab
	Generator string  // written into reports; empty: nothing
	Bags      bool    // hand-overs within a folder that was named are logs too: they came in
	Stdin     io.Reader
	Limits    limit.Limits // of everything that is read; the zero value has sane defaults
	Workers   int          // finds that are worked on at the same time; 0: as many as there are processors
	Slow      bool         // send every record to the schema engine; what is said is the same

	member  string // of an archive of several logs, that is to be read
	found   bool   // in a folder that was named, not itself
	wrapped bool   // in an archive
	source  string // how a log is called among several; empty: by its name

	ctx   context.Context                 // stops the reading of the input
	ahead func(*find.Stream) *find.Stream // adds steps to the finds that are read; these change none
	// Unfinished, if not nil, keeps the names of temporary files: an input that can be read only once and
	// is large is kept in one.
	Unfinished *Unfinished

	// Of, if not nil, adds what holds for one of several logs that are read as one, by the name of its file.
	Of func(name string, o *Options)
	// Step, if not nil, is a station between reading and judging, such as accepted repairs.
	Step func(*find.Stream, normalise.Options) (*find.Stream, error)

	Spool   *notice.Spool // if not nil, takes all notices, as many as there are, in the place of Result.Notices
	Lines   bool          // notices on native JSON have the line of their member too, for which it is read once more
	Brief   bool          // Result.Groups are enough: Result.Notices stays empty
	Checked bool          // it was checked before: nothing is checked or told again

	// Watch, if not nil, is shown each find that was normalised and validated; an error of its own ends the work.
	Watch func(*find.Entry) error
	// Progress, if not nil, is told after each find how many were read, and of how many; of is 0 where that is not known.
	Progress func(read, of int)
}

// Result is the outcome of a run.
type Result struct {
	Report *find.Report // the header; its Finds are empty
	Format Format       // of the input
	// Notices are located and sorted, those accepted with a reason left out. Where Options.Spool or
	// Options.Brief is set there are none; Truncated says that there were more than
	// 200,000, of which these are the first.
	Notices   notice.List
	Truncated bool
	Groups    *notice.Groups // the notices by code, field and cause, counted exactly
	Seen      render.Seen    // what was read
	// Accepted are the notices that the report silences with a reason.
	Accepted notice.List
	Summary  validate.Summary
	Lost     []Loss // what the target format could not hold
}

// Loss is something of this very report that the target format cannot hold.
type Loss struct {
	Field string // flat name, or the name of a part of the report
	Times int
}

// An InputError says why a file could not be read, before anything was read of it.
type InputError struct {
	File string
	Code string
	Msg  string
	Help string
	Err  error
}

// Error returns one line.
func (e *InputError) Error() string {
	s := e.Msg
	if e.File != "" {
		s = "reading " + e.File + ": " + s
	}
	if e.Help != "" {
		s += "; " + e.Help
	}
	return s
}

// Unwrap returns the cause.
func (e *InputError) Unwrap() error { return e.Err }

// Check reads a file of any format, normalises and validates it in memory, and returns the
// notices. The name "-" is Options.Stdin. An error means that the file could not be read.
func Check(ctx context.Context, name string, o Options) (*Result, error) {
	in, err := Open(ctx, name, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return in.Check(ctx, o)
}

// Check is the function of that name for an opened file.
func (in *Input) Check(ctx context.Context, o Options) (*Result, error) {
	r, err := Run(ctx, in, o, func(s *find.Stream) error {
		for _, err := range s.Entries {
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", in.Name, err)
	}
	return r, nil
}

// Convert reads a file of any format, normalises and validates it, and writes it to w in the
// format Options.To. When it returns an error, what was written to w is not to be used.
func Convert(ctx context.Context, name string, w io.Writer, o Options) (*Result, error) {
	in, err := Open(ctx, name, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return in.Convert(ctx, w, o)
}

// Convert is the function of that name for an opened file.
func (in *Input) Convert(ctx context.Context, w io.Writer, o Options) (*Result, error) {
	if o.To == "" {
		return nil, errors.New("the format to write is not known: say it with --to")
	}
	losses := newLosses(o)
	o.ahead = func(s *find.Stream) *find.Stream {
		return losses.watch(Sourced(s, o))
	}
	r, err := Run(ctx, in, o, func(s *find.Stream) error {
		head := *s.Report
		if o.Generator != "" {
			head.Generator = o.Generator
		}
		s.Report = &head
		losses.report(s.Report)
		return Encode(w, s, o)
	})
	if err != nil {
		return nil, fmt.Errorf("converting %s: %w", in.Name, err)
	}
	r.Lost = losses.list()
	return r, nil
}

// Run takes an opened file through the stations - reading, Options.Step, schema, rules - and lets consume
// pull the finds: what it does with them, such as Encode, is the last station.
func Run(ctx context.Context, in *Input, o Options, consume func(*find.Stream) error) (*Result, error) {
	v, err := validate.New(validate.Options{Level: o.Level, Profiles: o.Profiles, Shunned: o.Shunned, Rules: o.Rules,
		AsOf: o.Read.AsOf, Settings: in.stated.settings(o.Settings), Files: o.Files, Limits: o.Limits, Workers: o.Workers,
		Slow: o.Slow})
	if err != nil {
		return nil, err
	}
	read := in.normalised(o)
	if o.Step != nil {
		if read, err = o.Step(read, in.reading(o.Read)); err != nil {
			return nil, err
		}
	}
	if o.ahead != nil {
		read = o.ahead(read)
	}
	checked := read
	if !o.Checked {
		checked = v.Stream(read)
	}
	r := &Result{Format: in.Format, Report: checked.Report}
	said := newSaying(r, o, checked.File)
	if o.Lines && in.Format == Findslip && in.source != nil {
		if said.lines, err = newLines(in.source); err != nil {
			return nil, err
		}
	}
	for i := range checked.Notices {
		said.line(&checked.Notices[i])
		if err := said.add(checked.Notices[i]); err != nil {
			return nil, err
		}
	}
	out := *checked
	out.SetEntries(said.entries(ctx, checked, o))
	if err := consume(&out); err != nil {
		return nil, err
	}
	if err := in.changed(); err != nil {
		return nil, err
	}
	said.end()
	r.Summary = v.Summary()
	return r, nil
}

// entries passes on what comes, once it is told, and ends at the limit of finds or with the context.
func (s *saying) entries(ctx context.Context, in *find.Stream, o Options) iter.Seq2[*find.Entry, error] {
	most := o.Limits.WithDefaults().Finds
	return func(yield func(*find.Entry, error) bool) {
		finds := int64(0)
		for e, err := range in.Entries {
			if err == nil {
				err = ctx.Err()
			}
			if err == nil && e.Find != nil {
				if finds++; finds > most {
					err = limit.Over("finds", most)
				}
			}
			if err == nil {
				err = s.entry(e)
			}
			if err == nil && o.Watch != nil {
				err = o.Watch(e)
			}
			if err == nil && o.Progress != nil && e.Find != nil {
				o.Progress(int(finds), in.Count)
			}
			if err != nil {
				yield(nil, err)
				return
			}
			if !yield(e, nil) {
				return
			}
		}
	}
}

// normalised returns the finds with their canonical values. Several logs were read each by itself already.
func (in *Input) normalised(o Options) *find.Stream {
	if in.several {
		return in.Stream
	}
	return normalise.Stream(in.Stream, in.reading(o.Read))
}

// reading returns the options of reading the finds, with what is stated of the log.
func (in *Input) reading(o normalise.Options) normalise.Options {
	o.Table = in.Format.isTable()
	return in.stated.reading(o)
}

// Encode writes a stream in the format Options.To.
func Encode(w io.Writer, s *find.Stream, o Options) error {
	switch o.To {
	case Findslip:
		return find.EncodeJSON(w, s)
	case JSONL:
		return find.EncodeJSONL(w, s)
	case JSONLD:
		return find.EncodeLinked(w, s)
	case GPKG:
		return encodeGeoPackage(w, s, o.Unfinished)
	case GeoJSON:
		return geojson.Encode(w, s, geojson.Options{})
	case GPX:
		return gpx.Encode(w, s)
	case KML:
		return kml.Encode(w, s)
	case XLSX:
		return spreadsheet.EncodeXLSX(w, s, spreadsheet.WriteOptions{Plain: o.Plain, Language: o.Language, BOM: o.BOM})
	case Tables:
		return spreadsheet.EncodePackage(w, s, spreadsheet.WriteOptions{Plain: o.Plain, Delimiter: o.Delimiter})
	case CSV:
		return spreadsheet.EncodeCSV(w, s, spreadsheet.WriteOptions{Plain: o.Plain, Language: o.Language, BOM: o.BOM,
			Delimiter: o.Delimiter})
	}
	return fmt.Errorf("format %q cannot be written", o.To)
}

// Base is the name of a file without its folder.
func Base(name string) string {
	if name == "-" {
		return "standard-input"
	}
	return filepath.Base(name)
}
