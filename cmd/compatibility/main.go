// Command compatibility compares two versions of what is published - schemas, code lists, the codes
// of notices - and says of every change whether it is breaking, compatible or documentation.
//
//	compatibility schema/released/1.0            the release with what this program was built with
//	compatibility schema/released/1.0 FOLDER     the release with another one
//	compatibility -write schema/released/1.1     keeps what this program was built with as a release
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
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

func run(args []string, out, talk io.Writer) int {
	flags := flag.NewFlagSet("compatibility", flag.ContinueOnError)
	flags.SetOutput(talk)
	asJSON := flags.Bool("json", false, "print the changes as JSON")
	keep := flags.String("write", "", "write what this program was built with into a new `folder`")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	fail := func(err error) int {
		fmt.Fprintf(talk, "compatibility: %v\n", err)
		return 2
	}
	files, err := published()
	if err != nil {
		return fail(err)
	}
	if *keep != "" {
		if err := write(*keep, files); err != nil {
			return fail(err)
		}
		return 0
	}
	if n := flags.NArg(); n != 1 && n != 2 {
		return fail(fmt.Errorf("needs the folder of a release, such as schema/released/1.0"))
	}
	old, err := read(os.DirFS(flags.Arg(0)))
	if err != nil {
		return fail(fmt.Errorf("reading release %s: %w", flags.Arg(0), err))
	}
	now, err := read(memory(files))
	if flags.NArg() == 2 {
		now, err = read(os.DirFS(flags.Arg(1)))
	}
	if err != nil {
		return fail(fmt.Errorf("reading the newer release: %w", err))
	}
	changes := compare(old, now)
	if err := show(out, changes, *asJSON); err != nil {
		return fail(err)
	}
	if changes.Worst() == Breaking {
		return 1
	}
	return 0
}

func show(out io.Writer, changes Changes, asJSON bool) error {
	if !asJSON {
		return changes.write(out)
	}
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(struct {
		Step    string  `json:"step"`
		Changes Changes `json:"changes"`
	}{changes.Worst().Step(), append(Changes{}, changes...)})
}
