package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/findslip/findslip/cmd/internal/suite"
)

const usage = `suite drives an implementation of Findslip, a command in any language, through the suite below
testdata/suite and prints which conformance targets and classes it meets.

Usage:
  standard suite [flags] -- COMMAND [ARGUMENT...]

COMMAND is started once. It reads one JSON object a line from standard input,

  {"id": "h-001", "operation": "convert", "options": {"from": "csv", "to": "findslip"}, "input": {"text": "..."}}

and writes one a line to standard output before the next is sent:

  {"id": "h-001", "output": {"json": ...}, "notices": [{"code": "...", "pointer": "..."}]}
  {"id": "h-001", "refused": {"code": "...", "message": "..."}}
  {"id": "h-001", "unsupported": "the format gpx"}

input and output hold "json", "text" or "base64". The first request is always

  {"id": "describe", "operation": "describe", "options": {"protocol": "1"}}

with the output {"json": {"implementation": "...", "version": "...", "protocol": "1", "operations": ["read", ...],
"claims": {"codes": [...], "kinds": [...], "languages": [...], "formats": [...], "audiences": [...]}}};
what is not among the operations and the claims is not asked for; a list of claims that is missing says all. testdata/suite/README.md has the operations with their options.
Where COMMAND ends or is silent for longer than -patience, the vector is not met and it is started anew.

Status 0: all that is claimed is met; 1: something is not; 2: it could not be run.

Flags:
`

// A shared writer takes whole writes of two: of the runner and of the implementation's standard error.
type shared struct {
	mu sync.Mutex
	w  io.Writer
}

// Write passes one write on.
func (s *shared) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.w.Write(p)
}

func doSuite(ctx context.Context, flags *flag.FlagSet, args []string, out, talk io.Writer) error {
	root := flags.String("root", ".", "`folder` of the project, with testdata/suite in it")
	folder := flags.String("folder", "", "only the vectors of this part: required, optional or proposed")
	target := flags.String("target", "", "only the vectors of this target")
	id := flags.String("vector", "", "only the vector with this `id`, with what is asked and answered")
	asJSON := flags.Bool("json", false, "print the outcome as a claim file")
	against := flags.String("against", "", "say what does not come out as in this claim `file`")
	badge := flags.String("badge", "", "write a badge to this `file` (SVG)")
	patience := flags.Duration("patience", 60*time.Second, "how long one answer may take")
	flags.Usage = func() {
		io.WriteString(talk, usage)
		flags.PrintDefaults()
	}
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() == 0 {
		return errors.New("needs the command of an implementation, such as: standard suite -- findslip conformance")
	}
	project := os.DirFS(*root)
	all, err := suite.Load(project)
	if err != nil {
		return fmt.Errorf("reading the suite: %w", err)
	}
	vectors := slices.DeleteFunc(all, func(v *suite.Vector) bool {
		return *folder != "" && v.Folder != *folder || *target != "" && v.Target != *target || *id != "" && v.ID != *id
	})
	if len(vectors) == 0 {
		return fmt.Errorf("no vector is asked for: below %s there are %d; run it in the folder of the project, or say -root",
			*root, len(all))
	}
	x := &session{ctx: ctx, command: flags.Args(), talk: talk, patience: *patience, project: project}
	if x.errata, err = readErrata(project); err != nil {
		return err
	}
	if *id != "" {
		x.listen = func(direction string, line []byte) { fmt.Fprintf(talk, "%s %s\n", direction, line) }
	}
	sum, err := x.all(vectors)
	if err != nil {
		return err
	}
	if *badge != "" {
		if err := os.WriteFile(*badge, []byte(sum.badge()), 0o644); err != nil {
			return err
		}
	}
	return tell(out, sum, project, *asJSON, *against)
}

// all runs vectors one after the other.
func (x *session) all(vectors []*suite.Vector) (*summary, error) {
	claim, err := x.begin()
	if err != nil {
		return nil, err
	}
	defer x.stop()
	sum := newSummary(claim)
	for _, v := range vectors {
		r, err := x.try(v)
		if err != nil {
			return nil, fmt.Errorf("vector %s: %w", v.ID, err)
		}
		sum.add(v, r)
	}
	return sum, nil
}

// tell prints the outcome, or what of it is otherwise than claimed.
func tell(out io.Writer, sum *summary, project fs.FS, asJSON bool, against string) error {
	digest, err := suiteDigest(project)
	if err != nil {
		return err
	}
	if against != "" {
		f, err := readClaim(against)
		if err != nil {
			return err
		}
		lines := f.against(sum.file(digest))
		for _, line := range lines {
			fmt.Fprintln(out, line)
		}
		if len(lines) > 0 {
			return errDiffers
		}
		_, err = fmt.Fprintf(out, "%s %s: everything comes out as claimed\n", sum.claim.Implementation, sum.claim.Version)
		return err
	}
	if asJSON {
		enc := json.NewEncoder(out)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		err = enc.Encode(sum.file(digest))
	} else {
		_, err = io.WriteString(out, strings.TrimLeft(sum.text(), "\n"))
	}
	if err == nil && !sum.met() {
		err = errDiffers
	}
	return err
}

// maxEnds is how often an implementation may crash or fall silent before the rest is not tried.
const maxEnds = 25

// A session is an implementation that is started anew where it ends.
type session struct {
	ctx      context.Context
	command  []string
	talk     io.Writer
	patience time.Duration
	project  fs.FS
	listen   func(direction string, line []byte)
	now      *driver // nil: not running
	ends     int
	errata   map[string]string // why a vector is withdrawn, by id
}

// begin starts the implementation and asks what it is.
func (x *session) begin() (claim, error) {
	d, err := start(x.ctx, x.command, x.talk, x.patience)
	if err != nil {
		return claim{}, err
	}
	if x.listen != nil {
		d.listen = x.listen
	}
	c, err := d.describe()
	if err != nil {
		d.end(0)
		return c, err
	}
	x.now = d
	return c, nil
}

// stop ends it.
func (x *session) stop() {
	if x.now != nil {
		x.now.stop()
		x.now = nil
	}
}

// try runs one vector. An implementation that does not answer as the protocol has it has not met the
// vector; it is ended, and begins anew with the next one.
func (x *session) try(v *suite.Vector) (trial, error) {
	if err := x.ctx.Err(); err != nil {
		return trial{}, fmt.Errorf("stopped: %w", err)
	}
	if why := x.errata[v.ID]; why != "" {
		return trial{faulty: why}, nil
	}
	h, err := v.Request(x.project)
	if err != nil {
		return trial{}, err
	}
	if x.ends >= maxEnds {
		return trial{wrong: []string{fmt.Sprintf("not tried: the implementation failed to answer %d times", x.ends)}}, nil
	}
	if x.now == nil {
		if _, err := x.begin(); err != nil {
			x.ends++
			return trial{wrong: []string{"it does not start again: " + err.Error()}}, nil
		}
	}
	out, err := x.now.try(h, v)
	if err != nil {
		x.ends++
		x.now.end(0)
		x.now = nil
		return trial{wrong: []string{err.Error()}}, nil
	}
	return out, nil
}
