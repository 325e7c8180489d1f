//go:build unix

package main

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// What reads a file beside check and convert holds to the same: nothing is left behind when it fails, the input stays
// as it was, and memory is bounded.
func TestHostileCommands(t *testing.T) {
	heavy.Test(t)
	all := map[string]hostile{}
	for kind, list := range map[string]map[string]hostile{"text": hostileTexts(t), "book": hostileBooks(t),
		"finds": cases.Table[map[string]hostile](t, "HostileFinds")} {
		for name, h := range list {
			all[kind+" "+name] = h
		}
	}
	for name, h := range all {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := hostileDir(t)
			file := filepath.Join(dir, h.File)
			writing(t, file, h.write)
			before := sumOf(t, file)
			commands := map[string][]string{
				"proposals.json": {"repair", h.File, "-o", "proposals.json"},
				"public.geojson": {"share", h.File, "--for", "public", "-o", "public.geojson", "--no-register"},
				"out.zip":        {"pack", h.File, "-o", "out.zip"}, "map.json": {"columns", h.File, "-o", "map.json"},
				"page.html": {"check", h.File, "--report", "html", "--with-places", "-o", "page.html"},
			}
			limits := h.Limits
			// that they end at 200,000 is shown by check; what so many cost each command, by "empty people"
			if strings.Contains(h.Says, "notices=") {
				limits = []string{"--limit", "notices=20000"}
			}
			for out, args := range commands {
				r := hostileRun(t, dir, nil, append(slices.Clone(limits), args...)...)
				// columns reads headings, and some rows; share counts no notices
				if h.Check == 2 && h.Conv == 2 && r.status != 2 && args[0] != "columns" && !strings.Contains(h.Says, "notices=") {
					t.Errorf("%v ends with %d and says %.300s", args, r.status, r.err)
				}
				left := []string{h.File}
				if _, err := os.Lstat(filepath.Join(dir, out)); err == nil && r.status < 2 {
					left = append(left, out)
				} else if r.status == 0 {
					t.Errorf("%v ends well and makes nothing", args)
				}
				tidy(t, dir, left...)
				if err := os.RemoveAll(filepath.Join(dir, out)); err != nil {
					t.Fatal(err)
				}
			}
			if sumOf(t, file) != before {
				t.Error("the input was changed")
			}
		})
	}
}

// handOver makes what the commands of a long job start from.
func handOver(t *testing.T, dir string) (there []string) {
	t.Helper()
	writing(t, filepath.Join(dir, "long.jsonl"), func(w *bufio.Writer) {
		w.WriteString(lineHead)
		for i := range 15_000 {
			fmt.Fprintf(w, `{"type":"find","find":{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-%012x","number":"%d","name":"crotal bell","depth":{"verbatim":"08-Sep"},"position":{"latitude":52.5,"longitude":-1.2}}}`+"\n", i, i)
		}
		w.WriteString(`{"type":"end","finds":15000}` + "\n")
	})
	for _, args := range [][]string{{"pack", "long.jsonl", "-o", "in.zip"},
		{"convert", "long.jsonl", "-o", "in.xlsx", "--quiet"}, {"repair", "long.jsonl", "-o", "proposals.json"}} {
		if r := hostileRun(t, dir, nil, args...); r.status == 2 {
			t.Fatal(r.err)
		}
	}
	return []string{"long.jsonl", "in.zip", "in.xlsx", "proposals.json"}
}

var longJobs = [][]string{
	{"repair", "in.xlsx", "-o", "out.json"},
	{"repair", "long.jsonl", "--accept", "proposals.json", "-o", "out.findslip.json"},
	{"share", "long.jsonl", "--for", "recorder", "-o", "out.findslip.json", "--no-register"},
	{"share", "long.jsonl", "--for", "expert", "-o", "out.html", "--no-register"},
	{"pack", "long.jsonl", "-o", "out.zip"}, {"pack", "long.jsonl", "-o", "out"}, {"unpack", "in.zip", "-o", "out"},
	{"check", "long.jsonl", "--report", "json", "-o", "out.json"}, {"check", "in.xlsx", "--mark", "out.xlsx"},
	{"convert", "in.xlsx", "-o", "out.geojson", "--quiet"},
	{"convert", "long.jsonl", "-o", "out.gpx", "--since", "long.jsonl", "--quiet"},
	{"convert", "long.jsonl", "-o", "out.findslip.json", "--quiet"}, {"convert", "long.jsonl", "-o", "out.xlsx", "--quiet"},
	{"convert", "long.jsonl", "-o", "out.csv", "--quiet"}, {"convert", "long.jsonl", "-o", "out.kml", "--quiet"},
}

// What may come between a job and its end, in one folder.
func TestEveryJob(t *testing.T) {
	heavy.Test(t)
	dir := hostileDir(t)
	there := handOver(t, dir)
	t.Run("full disk", func(t *testing.T) { fullDiskOfEveryJob(t, dir, there) })
	t.Run("interrupted", func(t *testing.T) { everyJobInterrupted(t, dir, there) })
	t.Run("closed pipe", func(t *testing.T) { closedPipeOfEveryJob(t, dir, there) })
}

// A disk that is full in the middle of any job: an error that says so, and nothing half written.
func fullDiskOfEveryJob(t *testing.T, dir string, there []string) {
	for _, args := range longJobs {
		c := exec.CommandContext(t.Context(), "sh",
			append([]string{"-c", `ulimit -f 60; exec findslip "$@"`, "sh"}, args...)...)
		c.Dir, c.Env = dir, append(os.Environ(), "TMPDIR="+filepath.Join(dir, "tmp"))
		text, _ := c.CombinedOutput()
		if c.ProcessState.ExitCode() != 2 || !strings.Contains(string(text), "too large") || strings.Contains(string(text),
			"goroutine") {
			t.Errorf("%v ends with %d and says %.300s", args, c.ProcessState.ExitCode(), text)
		}
		tidy(t, dir, there...)
	}
	if runtime.GOOS != "linux" {
		return // /dev/full is of Linux (full(4))
	}
	for _, args := range []string{"convert long.jsonl --to csv -o - --quiet", "check long.jsonl --report json", "rules",
		"limits", "read length 8in", "schema", "explain unit-missing", "rules --json"} {
		c := exec.CommandContext(t.Context(), "sh", "-c", "exec findslip "+args+" >/dev/full")
		c.Dir, c.Env = dir, append(os.Environ(), "TMPDIR="+filepath.Join(dir, "tmp"))
		if text, _ := c.CombinedOutput(); c.ProcessState.ExitCode() != 2 || !strings.Contains(string(text), "no space left") {
			t.Errorf("%s ends with %d and says %s", args, c.ProcessState.ExitCode(), text)
		}
		tidy(t, dir, there...)
	}
}

// Ctrl-C in the middle of any job.
func everyJobInterrupted(t *testing.T, dir string, there []string) {
	if runtime.GOOS != "linux" {
		return // what a process has opened is seen in /proc (proc(5))
	}
	for _, args := range longJobs {
		c := command(t.Context(), dir, args...)
		stopped(t, c, os.Interrupt, func() bool { return hasOpen(c.Process.Pid, filepath.Join(dir, args[1])) })
		tidy(t, dir, there...)
	}
}

// hasOpen reports whether a process has a file open.
func hasOpen(pid int, name string) bool {
	name, err := filepath.EvalSymlinks(name)
	if err != nil {
		return false
	}
	handles, _ := filepath.Glob(fmt.Sprintf("/proc/%d/fd/*", pid))
	for _, handle := range handles {
		if to, err := os.Readlink(handle); err == nil && to == name {
			return true
		}
	}
	return false
}

// A reader that goes away, whatever it was reading.
func closedPipeOfEveryJob(t *testing.T, dir string, there []string) {
	for _, args := range [][]string{
		{"share", "long.jsonl", "--for", "public", "--format", "jsonl", "-o", "-", "--no-register"},
		{"convert", "in.xlsx", "--to", "geojson", "-o", "-", "--quiet"}, {"check", "in.xlsx", "--report", "html"},
		{"check", "long.jsonl", "--report", "sarif"}, {"check", "long.jsonl", "--report", "csv"}, {"columns", "in.xlsx"},
		{"schema"}, {"limits"}, {"completion", "bash"}, {"rules", "--json"},
	} {
		walksAway(t, dir, args)
		tidy(t, dir, there...)
	}
}

// Whatever is named as output, what is read is not lost: not by another way to its name, nor by a link.
func TestInputIsNeverReplaced(t *testing.T) {
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.csv"), text("No,Depth (in),Find\n1,8,bell\n"))
	if r := hostileRun(t, dir, nil, "convert", "a.csv", "-o", "a.findslip.json", "--quiet"); r.status == 2 {
		t.Fatal(r.err)
	}
	if err := os.Symlink("a.csv", filepath.Join(dir, "link.csv")); err != nil {
		t.Fatal(err)
	}
	if err := os.Link(filepath.Join(dir, "a.csv"), filepath.Join(dir, "hard.csv")); err != nil {
		t.Fatal(err)
	}
	before, other := sumOf(t, filepath.Join(dir, "a.csv")), sumOf(t, filepath.Join(dir, "a.findslip.json"))
	for _, out := range []string{"a.csv", "./a.csv", "tmp/../a.csv", filepath.Join(dir, "a.csv"), "link.csv", "hard.csv"} {
		for _, args := range [][]string{
			{"convert", "a.csv", "-o", out, "--force"}, {"convert", "a.csv", "-o", "out.csv", "--notices", out, "--force"},
			{"repair", "a.csv", "-o", out, "--force"}, {"columns", "a.csv", "-o", out, "--force"},
			{"check", "a.csv", "--report", "json", "-o", out, "--force"},
			{"share", "a.csv", "--for", "public", "-o", out, "--force", "--no-register"},
			{"check", out, "--report", "csv", "-o", "a.csv", "--force"},
			{"convert", "a.findslip.json", "--since", "a.csv", "--to", "csv", "-o", out, "--force"},
			{"pack", "a.csv", "-o", out, "--force"},
		} {
			if r := hostileRun(t, dir, nil, args...); r.status != 2 {
				t.Errorf("%v ends with %d and says %.300s", args, r.status, r.err)
			}
			if sumOf(t, filepath.Join(dir, "a.csv")) != before || sumOf(t, filepath.Join(dir, "a.findslip.json")) != other {
				t.Fatalf("%v changed what it read", args)
			}
		}
	}
	tidy(t, dir, "a.csv", "a.findslip.json", "link.csv", "hard.csv")
}

// Pipes by name are for what can be read once; what needs more says so at once and waits for nobody.
func TestNamedPipes(t *testing.T) {
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.csv"), text("No,Depth (in)\n1,8\n"))
	if err := syscall.Mkfifo(filepath.Join(dir, "pipe"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"unpack", "pipe", "-o", "out"}, {"check", "a.csv", "--columns", "pipe"}, {"check", "a.csv", "--protected", "pipe"},
		{"check", "a.csv", "--baseline", "pipe"}, {"check", "a.csv", "--pictures", "pipe"},
		{"repair", "a.csv", "--accept", "pipe", "-o", "out.csv"},
		{"convert", "a.csv", "--to", "csv", "-o", "pipe", "--force"},
	} {
		if r := hostileRun(t, dir, nil, args...); r.status != 2 || !strings.Contains(r.err, "pipe") {
			t.Errorf("%v ends with %d: %s", args, r.status, r.err)
		}
	}
	tidy(t, dir, "a.csv", "pipe")
}

// A pipe to which nobody writes is refused and not waited for.
func TestPipeWithoutWriter(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mkfifo(filepath.Join(dir, "pipe"), 0o644); err != nil {
		t.Fatal(err)
	}
	if r := hostileRun(t, dir, nil, "check", "pipe"); r.status != 2 || !strings.Contains(r.err, "nobody writes to it") {
		t.Errorf("it ends with %d: %s", r.status, r.err)
	}
}
