// Command vulnverdict reads what govulncheck -format json prints and ends with status 1 when code of
// this module calls what a known vulnerability of a library is in. Those of the standard library lie
// with the Go that builds: they are reported, with the version of Go that mends them.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
)

// message is one of the messages of govulncheck; of all kinds only findings are looked at.
type message struct {
	Finding *struct {
		OSV   string `json:"osv"`
		Fixed string `json:"fixed_version"`
		Trace []struct {
			Module   string `json:"module"`
			Version  string `json:"version"`
			Function string `json:"function"`
		} `json:"trace"`
	} `json:"finding"`
	SBOM *struct {
		GoVersion string `json:"go_version"`
	} `json:"SBOM"`
}

func main() {
	called, err := read(os.Stdin, os.Stdout)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	if called > 0 {
		os.Exit(1)
	}
}

func read(r io.Reader, w io.Writer) (called int, err error) {
	libraries, standard, idle, scanned := map[string]string{}, map[string]string{}, map[string]string{}, false
	for dec := json.NewDecoder(r); ; {
		var m message
		if err := dec.Decode(&m); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return 0, fmt.Errorf("this is not the output of govulncheck -format json: %w", err)
		}
		scanned = scanned || m.SBOM != nil
		if m.Finding == nil || len(m.Finding.Trace) == 0 {
			continue
		}
		at := m.Finding.Trace[0]
		text := at.Module + " " + at.Version + ", mended in " + m.Finding.Fixed
		switch {
		case at.Function == "":
			idle[m.Finding.OSV] = text
		case at.Module == "stdlib":
			standard[m.Finding.OSV] = text
		default:
			libraries[m.Finding.OSV] = text
		}
	}
	if !scanned {
		return 0, errors.New("govulncheck has scanned nothing")
	}
	for _, list := range []struct {
		title string
		found map[string]string
	}{{"called here", libraries}, {"of the Go that builds; build releases with a later one", standard},
		{"not called here", idle}} {
		for _, id := range slices.Sorted(maps.Keys(list.found)) {
			if list.title == "not called here" && (libraries[id] != "" || standard[id] != "") {
				continue
			}
			fmt.Fprintf(w, "%s: %s (%s)\n", id, list.found[id], list.title)
		}
	}
	fmt.Fprintf(w, "libraries: %d known vulnerabilities are called\n", len(libraries))
	return len(libraries), nil
}
