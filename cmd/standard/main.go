// Command standard keeps what is published of Findslip: the specification with its annexes, the schemas,
// the code lists, the vectors.
//
//	standard generate [-check]          writes what is generated; with -check fails where something would change
//	standard check                      fails where a paper is too long, a link dead, a requirement without key word,
//	                                    target or vector
//	standard site -o FOLDER             writes the pages and files of the permanent names
//	standard compare OLD [NEW]          compares two versions of what is published
//	standard suite -- COMMAND           drives any implementation through the conformance suite
//	standard mutants                    breaks rules on purpose, and says which faults no vector notices
//
// Each has -root FOLDER for the project, and -help.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"

	"github.com/findslip/findslip/cmd/internal/release"
)

//go:generate go run . generate -root ../..

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// errDiffers ends the command with status 1: the work was done, and what it found is not as it should be.
var errDiffers = errors.New("not as it should be")

func run(ctx context.Context, args []string, out, talk io.Writer) int {
	talk = &shared{w: talk}
	do := map[string]func(context.Context, *flag.FlagSet, []string, io.Writer, io.Writer) error{"generate": doGenerate,
		"check": doCheck, "site": doSite, "compare": doCompare, "suite": doSuite, "mutants": doMutants}
	if len(args) == 0 || do[args[0]] == nil {
		fmt.Fprintln(talk, "standard: needs one of generate, check, compare, suite, site, mutants; -help says more of each")
		return 2
	}
	flags := flag.NewFlagSet("standard "+args[0], flag.ContinueOnError)
	flags.SetOutput(talk)
	switch err := do[args[0]](ctx, flags, args[1:], out, talk); {
	case err == nil, errors.Is(err, flag.ErrHelp):
		return 0
	case errors.Is(err, errDiffers):
		return 1
	default:
		fmt.Fprintf(talk, "standard %s: %v\n", args[0], err)
		return 2
	}
}

func doGenerate(_ context.Context, flags *flag.FlagSet, args []string, out, talk io.Writer) error {
	root := flags.String("root", ".", "`folder` of the project")
	check := flags.Bool("check", false, "write nothing, fail when a file would change")
	if err := flags.Parse(args); err != nil {
		return err
	}
	changed, err := generate(*root, !*check)
	if err != nil {
		return err
	}
	for _, name := range changed {
		fmt.Fprintln(out, name)
	}
	if *check && len(changed) > 0 {
		fmt.Fprintln(talk, "these files are not as generated; run go generate ./...")
		return errDiffers
	}
	return nil
}

// doCompare fails when something breaks: narrowing breaks documents of the older version, widening
// breaks programs of the older version, which would refuse what is allowed now. New members, new codes
// of open lists and new notices break neither. What is on trial (x-trial) may change.
func doCompare(_ context.Context, flags *flag.FlagSet, args []string, out, _ io.Writer) error {
	root := flags.String("root", ".", "`folder` of the project, whose vectors belong to the version")
	asJSON := flags.Bool("json", false, "print the changes as JSON")
	keep := flags.String("keep", "", "keep what this program was built with in a new `folder`")
	if err := flags.Parse(args); err != nil {
		return err
	}
	now, err := release.Published(os.DirFS(*root))
	if err != nil {
		return err
	}
	if *keep != "" {
		return now.Keep(*keep)
	}
	if n := flags.NArg(); n != 1 && n != 2 {
		return errors.New("needs the folder of a version that was kept, such as schema/released/1.0")
	}
	old, err := release.Read(os.DirFS(flags.Arg(0)))
	if err != nil {
		return fmt.Errorf("%s: %w", flags.Arg(0), err)
	}
	if flags.NArg() == 2 {
		if now, err = release.Read(os.DirFS(flags.Arg(1))); err != nil {
			return fmt.Errorf("%s: %w", flags.Arg(1), err)
		}
	}
	changes, err := release.Compare(old, now)
	if err != nil {
		return err
	}
	if *asJSON {
		enc := json.NewEncoder(out)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		err = enc.Encode(struct {
			Step    string          `json:"step"`
			Changes release.Changes `json:"changes"`
		}{changes.Worst().Step(), append(release.Changes{}, changes...)})
	} else {
		err = changes.Write(out)
	}
	if err == nil && changes.Worst() == release.Breaking {
		err = errDiffers
	}
	return err
}

// generate makes every generated file and returns the names of those that differ from what is
// there. It writes them only when asked.
func generate(root string, write bool) ([]string, error) {
	var changed []string
	put := func(name string, content []byte) error {
		path := filepath.Join(root, filepath.FromSlash(name))
		old, err := os.ReadFile(path)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if bytes.Equal(old, content) {
			return nil
		}
		changed = append(changed, name)
		if !write {
			return nil
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		return os.WriteFile(path, content, 0o644)
	}
	if err := examples(put); err != nil {
		return nil, fmt.Errorf("examples: %w", err)
	}
	if err := linked(put); err != nil {
		return nil, fmt.Errorf("JSON-LD context: %w", err)
	}
	if err := bundles(put); err != nil {
		return nil, fmt.Errorf("bundled schemas: %w", err)
	}
	if err := suites(root, put); err != nil {
		return nil, fmt.Errorf("conformance suite: %w", err)
	}
	if err := annexes(root, put); err != nil {
		return nil, fmt.Errorf("SPEC.md: %w", err)
	}
	return changed, nil
}
