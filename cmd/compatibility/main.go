// Command compatibility compares two versions of what is published - schemas, code lists, the codes
// of notices, the JSON-LD context, the ids of the vectors - and says of every change whether it is
// breaking, compatible or documentation.
//
//	compatibility schema/released/1.0            the release with what this program was built with
//	compatibility schema/released/1.0 FOLDER     the release with another one
//	compatibility -keep schema/released/1.1      keeps what this program was built with as a release
//
// A release that has a file named draft is not out: -keep keeps it anew. Without that file it is never
// written over.
//
// It ends with status 0 when nothing breaks, with 1 when something does, and with 2 when a release
// could not be read. Narrowing breaks documents of the older version; widening breaks programs of
// the older version, which would refuse what is allowed now. New members, new codes of open lists
// and new notices break neither. What is on trial (x-trial) may change.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"

	"github.com/findslip/findslip/cmd/internal/release"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

func run(args []string, out, talk io.Writer) int {
	flags := flag.NewFlagSet("compatibility", flag.ContinueOnError)
	flags.SetOutput(talk)
	asJSON := flags.Bool("json", false, "print the changes as JSON")
	keep := flags.String("keep", "", "keep what this program was built with in a `folder`: a new one, or one with the file draft in it")
	root := flags.String("root", ".", "`folder` of the project, whose vectors belong to the release")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	fail := func(err error) int {
		fmt.Fprintf(talk, "compatibility: %v\n", err)
		return 2
	}
	files, err := release.Published(os.DirFS(*root))
	if err != nil {
		return fail(err)
	}
	if *keep != "" {
		if err := files.Keep(*keep); err != nil {
			return fail(err)
		}
		return 0
	}
	if n := flags.NArg(); n != 1 && n != 2 {
		return fail(fmt.Errorf("needs the folder of a release, such as schema/released/1.0"))
	}
	old, err := release.Read(os.DirFS(flags.Arg(0)))
	if err != nil {
		return fail(fmt.Errorf("reading release %s: %w", flags.Arg(0), err))
	}
	now, err := release.Read(files)
	if flags.NArg() == 2 {
		now, err = release.Read(os.DirFS(flags.Arg(1)))
	}
	if err != nil {
		return fail(fmt.Errorf("reading the newer release: %w", err))
	}
	changes := release.Compare(old, now)
	if err := show(out, changes, *asJSON); err != nil {
		return fail(err)
	}
	if changes.Worst() == release.Breaking {
		return 1
	}
	return 0
}

func show(out io.Writer, changes release.Changes, asJSON bool) error {
	if !asJSON {
		return changes.Write(out)
	}
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(struct {
		Step    string          `json:"step"`
		Changes release.Changes `json:"changes"`
	}{changes.Worst().Step(), append(release.Changes{}, changes...)})
}
