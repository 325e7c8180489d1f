// Package desk answers what a page asks of the program: requests as JSON over files that lie open, answered with JSON
// and, where a file is the answer, its bytes. The page reaches it through cmd/findslip-wasm; tests ask it
// directly and compare what it says with the command.
package desk

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"testing/fstest"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/pipeline"
)

// A Desk holds the files that lie open.
type Desk struct {
	Progress func(finds, pass int) // is told how many finds were read, the how manieth time; nil: nobody
	files    fstest.MapFS
	kept     struct { // the log as it was last read, with all that was stated and accepted
		of   string // the request that it was read for
		data []byte
		told map[string][]byte // what was said of it when it was checked, by the options
	}
}

// Request is what is asked for. Options have the names of the flags of the command.
type Request struct {
	// check, convert, mark, plan, propose, template, share, lands, season, where, receive, accept, merge,
	// questions, headings or read
	Do        string
	Name      string            // the file, as it was laid open
	Names     []string          // several files that are read as one log; Name is then empty
	To        string            // a format
	Kind      string            // of texts to read
	Texts     []string          // texts to read
	For       string            // an audience
	Receiver  string            // whoever the copy is for
	Lands     []string          // of a landowner, by name or local id
	Finds     []string          // numbers of finds to be asked about
	Question  string            // to an expert
	Pass      []string          // words that were withheld and that may go, for the finder has read them
	Earlier   string            // where something finer was told before: go-on, again or withhold
	Register  string            // its lines; empty: a new one
	Stated                      // of the one log
	Each      map[string]Stated // of several, by the names of their files
	Proposals jsontext.Value    // of what came back, with those accepted that a person agreed to; or decisions
	Answer    string            // the file that came back
	By        string            // who gave the answer; or what tells finds apart on a plan
	Strangers bool              // of where: what a stranger would be told too, which takes as long as a copy
	Year      string            // of a season
	Title     string            // above a season, such as the name of a club
	Best      []string          // numbers of finds to show
	Profile   string            // the file of a profile that lies open, of what a receiver asks
	Answers   map[string]string // to questions, by their place in the list
	Brief     bool              // the report has groups with counts and places, not each notice: enough for people
	Outlines  []Outline         // of fields, drawn or laid open
	Photos    map[string]string // which find a photo that lies open is of: its number by the name of the file
	Options   options
}

// Stated is what a person has said of a log. All that is read of it, checked, copied or drawn goes by that.
type Stated struct {
	Columns  jsontext.Value // a column map
	Settings jsontext.Value // what its keeper has stated once
	Accepted jsontext.Value // proposals, with those accepted that a person agreed to
}

// Outline is the outline of a field.
type Outline struct {
	Field string       // local id of its permission, or its name
	Ring  [][2]float64 // longitude and latitude
}

// Lay lays files open in the place of those that lay there.
func (d *Desk) Lay(files map[string][]byte) error {
	open := fstest.MapFS{}
	for name, data := range files {
		if !fs.ValidPath(name) {
			return fmt.Errorf("%.40q is no name of a file", name)
		}
		open[name] = &fstest.MapFile{Data: data, Mode: 0o444}
	}
	d.files, d.kept.of = open, ""
	return nil
}

// Answer does what is asked and returns JSON, and bytes where a file is the answer.
func (d *Desk) Answer(ctx context.Context, request []byte) (text string, content []byte, err error) {
	var ask Request
	if err := json.Unmarshal(request, &ask, json.MatchCaseInsensitiveNames(true)); err != nil {
		return "", nil, fmt.Errorf("the request cannot be read: %w", err)
	}
	text, content, err = d.answer(ctx, &ask)
	return text, content, ask.Options.Steps.error(err)
}

// open opens what is asked of: one file, or several as one log.
func (d *Desk) open(ctx context.Context, ask *Request, o pipeline.Options) (*pipeline.Input, error) {
	if len(ask.Names) == 0 {
		return pipeline.Open(ctx, ask.Name, o)
	}
	logs, _, err := pipeline.Logs(ctx, ask.Names, o)
	if err != nil {
		return nil, err
	}
	return pipeline.OpenLogs(ctx, logs, o)
}

// mostHeld is how many bytes of finds a page may hold: its log lies in memory already, and nobody can raise a limit
// there.
const mostHeld = 160 << 20

// joinedName is the name that several logs as one have.
const joinedName = "all.findslip.json"

// log reads what is asked of - one file or several as one, with all that was stated and accepted - as one report, for
// whatever is made of a log, and returns its name. It is read once: o then has the report in the place of the files.
func (d *Desk) log(ctx context.Context, ask *Request, o *pipeline.Options) (string, error) {
	name := logName(ask)
	if !keeps(ask, o) {
		return name, nil
	}
	of, err := sameLog(ask)
	if err != nil {
		return "", err
	}
	if d.kept.of != of {
		to := *o
		to.Brief = true
		if _, err := d.readLog(ctx, ask, to, of); err != nil {
			return "", err
		}
	}
	o.FS = d.with(name, d.kept.data)
	o.From, o.Table.Map, o.Beside, o.Step, o.Of = pipeline.Findslip, nil, nil, nil, nil
	return name, nil
}

// readLog reads what is asked of and keeps it as one report, with what was said of it on the way.
func (d *Desk) readLog(ctx context.Context, ask *Request, o pipeline.Options, of string) (*pipeline.Result, error) {
	in, err := d.open(ctx, ask, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	var out bytes.Buffer
	o.To = pipeline.Findslip
	r, err := in.Convert(ctx, &out, o)
	if err == nil {
		d.kept.of, d.kept.data, d.kept.told = of, out.Bytes(), map[string][]byte{}
	}
	return r, err
}

// watched is a step that changes nothing and tells how far each reading of the log has come.
func (d *Desk) watched() func(*find.Stream, normalise.Options) (*find.Stream, error) {
	pass := 0
	return func(s *find.Stream, _ normalise.Options) (*find.Stream, error) {
		pass++
		finds, mine := 0, pass
		return s.Map(func(*find.Entry, bool) bool {
			if finds++; finds%500 == 0 && d.Progress != nil {
				d.Progress(finds, mine)
			}
			return true
		}), nil
	}
}

func logName(ask *Request) string {
	if len(ask.Names) > 0 {
		return joinedName
	}
	return ask.Name
}

// keeps reports whether what is asked of is worth keeping as a report: a sheet, several files, or a log that something
// is done to.
func keeps(ask *Request, o *pipeline.Options) bool {
	return len(ask.Names) > 0 || o.Step != nil || isSheet(ask.Name)
}

// sameLog is the same text for requests that a log is read for in the same way.
func sameLog(ask *Request) (string, error) {
	o := ask.Options
	o.Language, o.Level = "", ""
	of, _, err := encode([]any{ask.Name, ask.Names, ask.Stated, ask.Each, ask.Profile, ask.Outlines, ask.Photos, ask.Finds,
		ask.Question, o})
	return of, err
}

// with is what lies open, with one file laid over it.
func (d *Desk) with(name string, data []byte) fstest.MapFS {
	files := maps.Clone(d.files)
	files[name] = &fstest.MapFile{Data: data, Mode: 0o444}
	return files
}

// isSheet reports whether a file is a table by its name.
func isSheet(name string) bool {
	format := pipeline.FormatOfName(name)
	return format == pipeline.XLSX || format == pipeline.CSV
}

// isPicture reports whether a file is a picture by its name.
func isPicture(name string) bool {
	return slices.Contains([]string{".jpg", ".jpeg", ".png"}, strings.ToLower(path.Ext(name)))
}

// pictures are the pictures that lie open, nil if there are none.
func (d *Desk) pictures() fs.FS {
	out := fstest.MapFS{}
	for name, file := range d.files {
		if isPicture(name) {
			out[name] = file
		}
	}
	if len(out) == 0 {
		return nil
	}
	return out
}
