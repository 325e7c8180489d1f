//go:build unix

package main

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// What a terminal, a browser or a spreadsheet would obey, in every place where a file has text.
const (
	escapes = "\u009b31m\u202egpj<script>alert(1)</script><img src=x onerror=alert(1)>\"'&"
	raw     = "\x1b]0;title\x07\x1b[31m"
)

// Every report, and every message, shows what a file says and obeys none of it.
func TestEscapesNeverPass(t *testing.T) {
	heavy.Test(t)
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.csv"), func(w *bufio.Writer) {
		fmt.Fprintf(w, "\"No\",\"Depth (in)\",\"Find\",\"%s\"\n", strings.ReplaceAll(escapes+raw, `"`, `""`))
		fmt.Fprintf(w, "\"%[1]s\",\"%[1]s\",\"=%[1]s\",\"%[1]s\"\n", strings.ReplaceAll(escapes+raw, `"`, `""`))
	})
	writing(t, filepath.Join(dir, "a.xlsx"), zipping(book(func(w *bufio.Writer) {
		text := strings.NewReplacer("&", "&amp;", "<", "&lt;").Replace(escapes)
		fmt.Fprintf(w, `<row r="2"><c r="A2" t="inlineStr"><is><t>%[1]s</t></is></c><c r="B2" t="inlineStr"><is>`+
			`<t>%[1]s_x001B_[31m</t></is></c><c r="C2" t="inlineStr"><is><t>=%[1]s</t></is></c></row>`, text)
	}, nil)))
	quoted := strings.NewReplacer(`"`, `\"`, "\x1b", `\u001b`, "\x07", `\u0007`).Replace(escapes + raw)
	writing(t, filepath.Join(dir, "a.findslip.json"),
		text(
			strings.ReplaceAll(`{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e","title":"X","people":[{"id":"X","name":"X","X":1}],"X":1,
"accepted":[{"code":"X","reason":"X","by":"X","on":"X"}],"permissions":[{"id":"permission-1","place":{"name":"X"},"jurisdiction":"X"}],
"finds":[{"id":"X","number":"X","name":"X","found":{"verbatim":"X"},"depth":{"verbatim":"X"},"materials":[{"code":"X","verbatim":"X"}],"columns":{"X":"X"},"X":"X","notes":"X","media":[{"file":"X"}],"position":{"verbatim":"X"},"permission":"permission-1"}]}`, "X", quoted)))
	for _, file := range []string{"a.csv", "a.xlsx", "a.findslip.json"} {
		for _, form := range []string{"text", "html", "csv", "json", "sarif"} {
			r := hostileRun(t, dir, nil, "check", file, "--report", form, "--level", "full", "--pictures", ".")
			if r.status != 1 && form != "text" && r.status != 0 {
				t.Errorf("check %s as %s ends with %d and says %s", file, form, r.status, r.err)
			}
			if form == "html" && (strings.Contains(r.out, "<script>alert") || strings.Contains(r.out, "<img src=x")) {
				t.Errorf("the page on %s holds a tag of the file", file)
			}
			if form == "csv" {
				for line := range strings.Lines(r.out) {
					for cell := range strings.SplitSeq(line, ",") {
						if cell = strings.Trim(cell, "\" \n"); cell != "" && strings.ContainsAny(cell[:1], "=@") {
							t.Errorf("the table on %s begins a formula: %q", file, cell)
						}
					}
				}
			}
		}
		for _, args := range [][]string{
			{"convert", file, "-o", "out.jsonl", "--force"}, {"convert", file, "-o", "out.gpx", "--force"},
			{"convert", file, "-o", "out.kml", "--force"}, {"convert", file, "-o", "out.xlsx", "--force"},
			{"convert", file, "--to", "csv", "--check-loss"}, {"columns", file},
			{"repair", file, "-o", "proposals.json", "--force"},
			{"share", file, "--for", "public", "-o", "public.geojson", "--force", "--no-register"},
			{"share", file, "--for", "expert", "-o", "ask.html", "--force", "--no-register", "--pictures", "."},
			{"check", file, "--leaks", "a.findslip.json"}, {"pack", file, "-o", "out.zip", "--force"},
		} {
			hostileRun(t, dir, nil, args...)
		}
	}
	hostileRun(t, dir, nil, "check", "a.xlsx", "--mark", "broken.xlsx") // the library for workbooks breaks down over it
	hostileRun(t, dir, nil, "convert", "a.csv", "-o", "book.xlsx", "--quiet")
	if r := hostileRun(t, dir, nil, "check", "book.xlsx", "--mark", "marked.xlsx"); r.status == 2 {
		t.Fatal(r.err)
	}
	marked, err := zip.OpenReader(filepath.Join(dir, "marked.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	defer marked.Close()
	for _, part := range marked.File {
		f, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		words, err := io.ReadAll(f)
		f.Close()
		// The first sheet holds the sender's own cells, which stay as they are.
		if err != nil || part.Name != "xl/worksheets/sheet1.xml" && strings.ContainsAny(string(words), "\x1b\u009b\u202e") {
			t.Errorf("%s of the marked workbook holds what a terminal obeys: %v", part.Name, err)
		}
	}
	hostileRun(t, dir, nil, "check", raw+".csv")
	hostileRun(t, dir, nil, "convert", "a.csv", "-o", raw)
	hostileRun(t, dir, nil, raw)
	hostileRun(t, dir, nil, "check", "--"+raw)
	hostileRun(t, dir, nil, "check", "a.csv", "--setting", raw)
	hostileRun(t, dir, strings.NewReader(raw+escapes+"\n8 in\n\xff\n"), "read", "length")
	hostileRun(t, dir, strings.NewReader(raw+escapes+"\n"), "read", "material", "--json")
	if r := hostileRun(t, dir, strings.NewReader(strings.Repeat("x", 20<<20)), "read", "date"); r.status != 2 ||
		!strings.Contains(r.err, "--limit cell=N") {
		t.Errorf("a long line: %d, %s", r.status, r.err)
	}
}

// Names and links of pictures lead nowhere outside their folder, and pipes and devices are not opened.
func TestHostilePictures(t *testing.T) {
	heavy.Test(t)
	dir := hostileDir(t)
	for _, folder := range []string{"pictures", "outside"} {
		if err := os.Mkdir(filepath.Join(dir, folder), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	var dot bytes.Buffer
	if err := png.Encode(&dot, image.NewGray(image.Rect(0, 0, 3, 2))); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"outside/secret.png", "pictures/1.png"} {
		writing(t, filepath.Join(dir, name), func(w *bufio.Writer) { w.Write(dot.Bytes()) })
	}
	for name, to := range map[string]string{"link.png": "../outside/secret.png",
		"far.png": filepath.Join(dir, "outside", "secret.png"), "zero.png": "/dev/zero", "round.png": "round.png"} {
		if err := os.Symlink(to, filepath.Join(dir, "pictures", name)); err != nil {
			t.Fatal(err)
		}
	}
	if err := syscall.Mkfifo(filepath.Join(dir, "pictures", "pipe.png"), 0o644); err != nil {
		t.Fatal(err)
	}
	sum := `"sha256":"` + strings.Repeat("0", 64) + `"`
	var media []string
	for _, name := range []string{"1.png", "../outside/secret.png", filepath.Join(dir, "outside/secret.png"), "link.png",
		"far.png", "zero.png", "pipe.png", "round.png", `..\\outside\\secret.png`, ".", "", "/", "C:/x.png"} {
		media = append(media, `{"file":"`+name+`",`+sum+`}`)
	}
	writing(t, filepath.Join(dir, "a.findslip.json"),
		text(`{"findslip":"1.0","finds":[{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12","number":"1","name":"bell",`+
			`"media":[`+
			strings.Join(media, ",")+`]}]}`))
	for _, args := range [][]string{
		{"check", "a.findslip.json", "--pictures", "pictures"},
		{"share", "a.findslip.json", "--for", "recorder", "-o", "copy.findslip.json", "--pictures", "pictures",
			"--no-register"},
		{"share", "a.findslip.json", "--for", "expert", "-o", "ask.html", "--pictures", "pictures", "--no-register"},
		{"pack", "a.findslip.json", "-o", "out.zip", "--pictures", "pictures"},
	} {
		if r := hostileRun(t, dir, nil, args...); r.status == 2 {
			t.Errorf("%v: %s", args, r.err)
		}
	}
	made, err := os.ReadDir(filepath.Join(dir, "copy-pictures"))
	if err != nil || len(made) != 1 {
		t.Errorf("pictures of the copy: %v, %v", made, err)
	}
	// Nor is the one picture looked for that has more pixels than are unpacked.
	bomb := bytes.Clone(dot.Bytes())
	copy(bomb[16:], "\x00\x01\x00\x00\x00\x01\x00\x00")
	writing(t, filepath.Join(dir, "pictures", "1.png"), func(w *bufio.Writer) { w.Write(bomb) })
	hostileRun(t, dir, nil, "share", "a.findslip.json", "--for", "recorder", "-o", "copy2.findslip.json", "--pictures",
		"pictures", "--no-register")
}

// What is no file is reported, and neither read for ever nor replaced.
func TestDevices(t *testing.T) {
	heavy.Test(t)
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.csv"), text("No,Depth (in)\n1,8\n"))
	for _, args := range [][]string{
		{"check", "/dev/zero"}, {"check", "/dev/null"}, {"convert", "/dev/zero", "-o", "out.csv"},
		{"convert", "a.csv", "--to", "csv", "-o", "/dev/null", "--force"},
		{"check", "a.csv", "--columns", "/dev/zero"}, {"check", "a.csv", "--baseline", "/dev/zero"},
		{"repair", "a.csv", "--accept", "/dev/zero", "-o", "out.csv"},
		{"unpack", "/dev/zero", "-o", "out"}, {"check", "a.csv", "--pictures", "/dev/null"},
		{"check", "a.csv", "--leaks", "/dev/zero"}, {"convert", "a.csv", "--since", "/dev/zero", "-o", "out.csv"},
	} {
		if r := hostileRun(t, dir, nil, args...); r.status != 2 {
			t.Errorf("%v ends with %d: %s", args, r.status, r.err)
		}
	}
	if info, err := os.Stat("/dev/null"); err != nil || info.Mode().IsRegular() {
		t.Fatalf("/dev/null was replaced: %v", err)
	}
	tidy(t, dir, "a.csv")
	endless := &endless{}
	if r := hostileRun(t, dir, endless, "check", "-", "--limit", "spool=100MiB"); r.status != 2 || !strings.Contains(r.err,
		"--limit spool=N") {
		t.Errorf("an endless input ends with %d: %s", r.status, r.err)
	}
	tidy(t, dir, "a.csv")
}

type endless struct{}

func (*endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// longLog writes a log of many finds.
func longLog(t *testing.T, dir string, finds int) {
	t.Helper()
	writing(t, filepath.Join(dir, "long.jsonl"), func(w *bufio.Writer) {
		w.WriteString(`{"type":"report","report":{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"}}` +
			"\n")
		for i := range finds {
			fmt.Fprintf(w,
				`{"type":"find","find":{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-%012x","number":"%d","name":"crotal bell",`+
					`"depth":{"verbatim":"8 in"}}}`+"\n", i, i)
		}
		fmt.Fprintf(w, `{"type":"end","finds":%d}`+"\n", finds)
	})
}

// walksAway runs a command whose reader goes away at once: the command says so and ends with an error.
func walksAway(t *testing.T, dir string, args []string) {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	c := command(t.Context(), dir, args...)
	var errs bytes.Buffer
	c.Stdout, c.Stderr = w, &errs
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	w.Close()
	r.Close()
	_ = c.Wait() // the status is looked at
	if c.ProcessState.ExitCode() != 2 || !strings.Contains(errs.String(), "stopped before its end") {
		t.Errorf("%v ends with %v and says %s", args, c.ProcessState, errs.String())
	}
}

// holdsUnnamed reports whether a process holds a file of a folder open, be it without a name any more (proc(5)).
func holdsUnnamed(c *exec.Cmd, folder string) bool {
	open, _ := filepath.Glob(filepath.Join("/proc", strconv.Itoa(c.Process.Pid), "fd", "*"))
	for _, fd := range open {
		if at, err := os.Readlink(fd); err == nil && strings.HasPrefix(at, folder) {
			return true
		}
	}
	return false
}

// Ctrl-C in the middle of long work, and while the command waits for its input: exit status 2, a
// word about it, and nothing half written.
func TestInterrupted(t *testing.T) {
	heavy.Test(t)
	dir := hostileDir(t)
	longLog(t, dir, 200_000)
	for _, out := range []string{"out.xlsx", "out.csv", "out.findslip.json", "-"} {
		for _, sig := range []os.Signal{os.Interrupt, syscall.SIGTERM} {
			c := command(t.Context(), dir, "convert", "long.jsonl", "--to", "csv", "-o", out, "--quiet")
			if out == "out.xlsx" {
				c = command(t.Context(), dir, "convert", "long.jsonl", "-o", out, "--quiet")
			}
			begun := func() bool { // a part file is there, or what goes to standard output is held in a file
				parts, _ := filepath.Glob(filepath.Join(dir, ".findslip-*.part"))
				return len(parts) > 0 || holdsUnnamed(c, filepath.Join(dir, "tmp"))
			}
			stopped(t, c, sig, begun)
			tidy(t, dir, "long.jsonl")
		}
	}
	if err := os.Remove(filepath.Join(dir, "long.jsonl")); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"check", "-"}, {"convert", "-", "--to", "csv", "-o", "out.csv"},
		{"share", "-", "--for", "public", "-o", "out.geojson"}} {
		r, w, err := os.Pipe()
		if err != nil {
			t.Fatal(err)
		}
		c := command(t.Context(), dir, args...)
		c.Stdin = r
		// A pipe holds less than this (64 KiB as a rule), so that all is written when some was read.
		written := make(chan error, 1)
		go func() {
			_, err := io.WriteString(w, "No,Depth\n"+strings.Repeat("1,8 in\n", 40_000))
			written <- err
		}()
		stopped(t, c, os.Interrupt, func() bool { return len(written) > 0 })
		if err := <-written; err != nil {
			t.Fatal(err)
		}
		w.Close()
		r.Close()
		tidy(t, dir)
	}
}

// stopped starts the command, sends the signal when it has begun, and looks at how it ends.
func stopped(t *testing.T, c *exec.Cmd, sig os.Signal, begun func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- c.Wait() }()
	for !begun() {
		select {
		case <-done:
			t.Fatalf("%v ended before it could be stopped: %s", c.Args, errs.String())
		case <-ctx.Done():
			t.Fatalf("%v never began", c.Args)
		case <-time.After(time.Millisecond): // short work may be done in a few
		}
	}
	if err := c.Process.Signal(sig); err != nil {
		t.Fatal(err)
	}
	select {
	case <-done:
	case <-ctx.Done():
		_ = c.Process.Kill()
		t.Fatalf("%v does not stop", c.Args)
	}
	if c.ProcessState.ExitCode() != 2 || !strings.Contains(errs.String(), "stopped; nothing was left half written") ||
		out.Len() > 0 {
		t.Errorf("%v ends with %v, says %s, and has written %d bytes", c.Args, c.ProcessState, errs.String(), out.Len())
	}
}

// A file that is changed while it is read is refused; one that is taken away is read to its end.
func TestFilesThatChange(t *testing.T) {
	for name, c := range map[string]struct {
		change func(file string) error
		wrong  bool
	}{
		"grows":    {func(file string) error { return appendTo(file, "more\n") }, true},
		"shrinks":  {func(file string) error { return os.Truncate(file, 100) }, true},
		"vanishes": {os.Remove, false},
		"replaced": {func(file string) error {
			if err := os.WriteFile(file+".new", []byte("x"), 0o644); err != nil {
				return err
			}
			return os.Rename(file+".new", file)
		}, false},
	} {
		t.Run(name, func(t *testing.T) {
			dir := hostileDir(t)
			longLog(t, dir, 5000)
			file := filepath.Join(dir, "long.jsonl")
			r, err := pipeline.Check(t.Context(), file,
				pipeline.Options{Workers: 1, Watch: watchOnce(func() error { return c.change(file) })})
			if c.wrong != (err != nil) || !c.wrong && r.Summary.Finds != 5000 {
				t.Errorf("error %v", err)
			}
			if c.wrong && err != nil && !strings.Contains(err.Error(), "changed while it was read") {
				t.Errorf("error %v", err)
			}
		})
	}
}

func appendTo(file, text string) error {
	f, err := os.OpenFile(file, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = io.WriteString(f, text)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
}

func watchOnce(do func() error) func(*find.Entry) error {
	done := false
	return func(*find.Entry) error {
		if done {
			return nil
		}
		done = true
		return do()
	}
}
