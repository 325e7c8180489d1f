// Command conformance drives any implementation of Findslip through the suite below testdata/suite
// and prints which conformance targets and classes it meets.
//
//	conformance -- findslip conformance
//	conformance -root . -folder required -target validator -- ./mine --as-adapter
//
// The implementation is a command that reads requests from standard input and writes an answer to
// each on standard output, as JSON, one a line; testdata/suite/README.md has the protocol. Status 0:
// everything that the implementation claims is met; 1: something is not; 2: it could not be run.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"sync"
	"time"

	"github.com/findslip/findslip/cmd/internal/suite"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

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

func run(ctx context.Context, args []string, out, talk io.Writer) int {
	talk = &shared{w: talk}
	flags := flag.NewFlagSet("conformance", flag.ContinueOnError)
	flags.SetOutput(talk)
	root := flags.String("root", ".", "`folder` of the project, with testdata/suite in it")
	folder := flags.String("folder", "", "only the vectors of this part: required, optional or proposed")
	target := flags.String("target", "", "only the vectors of this target")
	id := flags.String("vector", "", "only the vector with this `id`, with what is asked and answered")
	asJSON := flags.Bool("json", false, "print the outcome as JSON")
	patience := flags.Duration("patience", 60*time.Second, "how long one answer may take")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	fail := func(err error) int {
		fmt.Fprintf(talk, "conformance: %v\n", err)
		return 2
	}
	if flags.NArg() == 0 {
		return fail(fmt.Errorf("needs the command of an implementation, such as: conformance -- findslip conformance"))
	}
	project := os.DirFS(*root)
	all, err := suite.Load(project)
	if err != nil {
		return fail(fmt.Errorf("reading the suite: %w", err))
	}
	var vectors []*suite.Vector
	for _, v := range all {
		if (*folder == "" || v.Folder == *folder) && (*target == "" || v.Target == *target) && (*id == "" || v.ID == *id) {
			vectors = append(vectors, v)
		}
	}
	if len(vectors) == 0 {
		return fail(fmt.Errorf("no vector of the suite is asked for"))
	}
	d, err := start(ctx, flags.Args(), talk, *patience)
	if err != nil {
		return fail(err)
	}
	defer d.stop()
	if *id != "" {
		d.listen = func(direction string, line []byte) { fmt.Fprintf(talk, "%s %s\n", direction, line) }
	}
	claim, err := d.describe()
	if err != nil {
		return fail(err)
	}
	sum := newSummary(claim)
	for _, v := range vectors {
		wrong, unsupported, err := d.try(project, v)
		if err != nil {
			return fail(fmt.Errorf("vector %s: %w", v.ID, err))
		}
		sum.add(v, wrong, unsupported)
	}
	if *asJSON {
		enc := json.NewEncoder(out)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		err = enc.Encode(sum.result())
	} else {
		_, err = io.WriteString(out, strings.TrimLeft(sum.text(), "\n"))
	}
	if err != nil {
		return fail(err)
	}
	if !sum.met() {
		return 1
	}
	return 0
}
