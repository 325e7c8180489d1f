//go:build unix

package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// mostMemory is what a run on a hostile file may hold at its peak, in bytes.
const mostMemory = 500 << 20

// ran is the outcome of one run of the command as a process of its own.
type ran struct {
	status   int
	out, err string
	peak     int64 // bytes
}

// process starts the command in a folder, with a folder for temporary files of its own.
func command(ctx context.Context, dir string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, "findslip", args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "TMPDIR="+filepath.Join(dir, "tmp"), "NO_COLOR=1", "GORACE=exitcode=3")
	return c
}

// hostileRun runs the command to its end. A run that does not come to its end is stopped and fails.
func hostileRun(t *testing.T, dir string, in io.Reader, args ...string) ran {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), 3*time.Minute)
	defer stop()
	c := command(ctx, dir, args...)
	// Into files, for the kernel counts the memory of who starts a process as that of the process.
	out, errs := scratch(t), scratch(t)
	c.Stdin, c.Stdout, c.Stderr = in, out, errs
	err := c.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) || ctx.Err() != nil {
		t.Fatalf("findslip %s: %v %v", strings.Join(args, " "), err, ctx.Err())
	}
	r := ran{status: c.ProcessState.ExitCode(), out: shown(t, args, out), err: shown(t, args, errs)}
	if usage, ok := c.ProcessState.SysUsage().(*syscall.Rusage); ok {
		r.peak = int64(usage.Maxrss)
		if runtime.GOOS != "darwin" { // which counts in bytes, all others in KiB (getrusage(2))
			r.peak *= 1024
		}
	}
	r.sound(t, args)
	return r
}

func scratch(t *testing.T) *os.File {
	t.Helper()
	f, err := os.CreateTemp(t.TempDir(), "")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// shown returns the beginning of what was printed, and looks through all of it for what a terminal
// would obey.
func shown(t *testing.T, args []string, f *os.File) string {
	t.Helper()
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	var head strings.Builder
	for r := bufio.NewReader(f); ; {
		c, _, err := r.ReadRune()
		if err != nil {
			return head.String()
		}
		if unicode.IsControl(c) && c != '\n' && c != '\t' && c != '\r' || c >= 0x202a && c <= 0x202e {
			t.Fatalf("findslip %s passes on %q behind %q", strings.Join(args, " "), c, head.String()[max(0, head.Len()-40):])
		}
		if head.Len() < 1<<18 {
			head.WriteRune(c)
		}
	}
}

// sound proves what must hold of every run, whatever the file.
func (r *ran) sound(t *testing.T, args []string) {
	t.Helper()
	name := strings.Join(args, " ")
	if r.status < 0 || r.status > 2 {
		t.Errorf("findslip %s: exit status %d", name, r.status)
	}
	for _, text := range []string{r.out, r.err} {
		if strings.Contains(text, "panic:") || strings.Contains(text, "goroutine ") || strings.Contains(text,
			"fault of findslip") {
			t.Errorf("findslip %s broke down: %.2000s", name, text)
		}
	}
	if r.status == 2 && r.err == "" {
		t.Errorf("findslip %s does not say why it failed", name)
	}
	if r.peak > mostMemory {
		t.Errorf("findslip %s took %d MiB", name, r.peak>>20)
	}
}

// tidy proves that nothing is left beside the files that are to be there.
func tidy(t *testing.T, dir string, want ...string) {
	t.Helper()
	there := map[string]bool{"tmp": true}
	for _, name := range want {
		there[name] = true
	}
	for _, folder := range []string{".", "tmp"} {
		entries, err := os.ReadDir(filepath.Join(dir, folder))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if name := filepath.Join(folder, e.Name()); !there[name] {
				t.Errorf("%s is left behind", name)
			}
		}
	}
}

func sumOf(t *testing.T, name string) [32]byte {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		t.Fatal(err)
	}
	return [32]byte(h.Sum(nil))
}

// hostileDir makes a folder for one case.
func hostileDir(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "tmp"), 0o755); err != nil {
		t.Fatal(err)
	}
	return dir
}

// writing makes a file without holding it in memory.
func writing(t *testing.T, name string, write func(w *bufio.Writer)) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	w := bufio.NewWriterSize(f, 1<<20)
	write(w)
	if err := errors.Join(w.Flush(), f.Close()); err != nil {
		t.Fatal(err)
	}
}

func repeat(w *bufio.Writer, text string, times int) {
	for range times {
		w.WriteString(text)
	}
}

// hostile is a file and what the command is to say of it.
type hostile struct {
	File        string
	Make        recipe
	Rows, Texts recipe                // of a workbook with one sheet, in place of Make
	made        func(w *bufio.Writer) // in place of Make, where a recipe is not enough
	Check, Conv int                   // exit status of check and of convert
	Says        string                // is said by check, in either stream
	Limits      []string              // flags
}

// A recipe makes a text that is too large to keep: texts in a row, and lists of what is written and how often.
type recipe []any

func (r recipe) write(w *bufio.Writer) {
	for _, step := range r {
		list, ok := step.([]any)
		if !ok {
			w.WriteString(step.(string))
			continue
		}
		what, ok := list[0].([]any)
		if !ok {
			what = list[:1]
		}
		for range int(list[1].(float64)) {
			recipe(what).write(w)
		}
	}
}

func (h *hostile) write(w *bufio.Writer) {
	switch {
	case h.made != nil:
		h.made(w)
	case h.Texts != nil:
		zipping(book(h.Rows.write, h.Texts.write))(w)
	case h.Rows != nil:
		zipping(book(h.Rows.write, nil))(w)
	default:
		h.Make.write(w)
	}
}

// hostileTexts are the files of the table, with those that no table can hold.
func hostileTexts(t *testing.T) map[string]hostile {
	t.Helper()
	all := cases.Table[map[string]hostile](t, "HostileTexts")
	all["invalid UTF-8"] = hostile{File: "a.findslip.json",
		made: text(`{"findslip":"1.0","finds":[{"name":"gr` + "\xfcn" + `"}]}`), Check: 2, Conv: 2, Says: "not UTF-8"}
	all["other encoding"] = hostile{File: "a.csv",
		made: text("No,Find,Depth\n1,gr\xfcn,8 in\n"), Says: "the encoding is in doubt"}
	all["many members"] = hostile{File: "a.findslip.json", Check: 1, Conv: 1, Says: "15000 remarks",
		made: func(w *bufio.Writer) {
			w.WriteString(`{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e","finds":[{"number":"1"`)
			for i := range 15_000 {
				fmt.Fprintf(w, `,"miii%c%d":1`, 'a'+i%26, i)
			}
			w.WriteString("}]}")
		}}
	return all
}

const lineHead = `{"type":"report","report":{"findslip":"1.0"}}` + "\n"

func text(s string) func(*bufio.Writer) { return func(w *bufio.Writer) { w.WriteString(s) } }

// Files of text that were made to do harm, or that are broken: the exit status is the right one, what
// is wrong is said, nothing is left behind, the input is as it was, and memory stays bounded.
func TestHostileTexts(t *testing.T) {
	heavy.Test(t)
	for name, h := range hostileTexts(t) {
		t.Run(name, func(t *testing.T) { t.Parallel(); h.run(t); h.stdin(t) })
	}
}

func (h *hostile) run(t *testing.T) {
	dir := hostileDir(t)
	file := filepath.Join(dir, h.File)
	writing(t, file, h.write)
	before := sumOf(t, file)
	r := hostileRun(t, dir, nil, append(h.Limits, "check", h.File)...)
	if r.status != h.Check || !strings.Contains(r.out+r.err, h.Says) {
		t.Errorf("check ends with %d and says %.600s%.600s", r.status, r.out, r.err)
	}
	r = hostileRun(t, dir, nil, append(h.Limits, "convert", h.File, "-o", "out.findslip.json", "--quiet")...)
	if r.status != h.Conv {
		t.Errorf("convert ends with %d and says %.600s", r.status, r.err)
	}
	left := []string{h.File}
	if r.status < 2 {
		left = append(left, "out.findslip.json")
	}
	tidy(t, dir, left...)
	if sumOf(t, file) != before {
		t.Error("the input was changed")
	}
}

// stdin runs the same over standard input, which can be read only once, to standard output, which cannot
// be taken back.
func (h *hostile) stdin(t *testing.T) {
	dir := hostileDir(t)
	file := filepath.Join(dir, h.File)
	writing(t, file, h.write)
	in, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	form := strings.TrimPrefix(filepath.Ext(h.File), ".")
	if form == "json" {
		form = "findslip"
	}
	r := hostileRun(t, dir, io.MultiReader(in),
		append(h.Limits, "convert", "-", "--from", form, "--to", "jsonl", "-o", "-")...)
	if want := h.Conv; r.status != want && !strings.Contains(h.Says, "bytes=") {
		t.Errorf("convert of standard input ends with %d, want %d, and says %.600s", r.status, want, r.err)
	}
	if r.status == 2 && r.out != "" {
		t.Errorf("half of the output was written: %.200s", r.out)
	}
	tidy(t, dir, h.File)
}

// Files in which each find is as large as a find may be, or makes as much as a find can make: no
// more than a few of them are in memory at a time.
func TestHostileFinds(t *testing.T) {
	heavy.Test(t)
	for name, h := range cases.Table[map[string]hostile](t, "HostileFinds") {
		t.Run(name, func(t *testing.T) { t.Parallel(); h.run(t) })
	}
}

// Every limit has a flag that bites, on a file that is read without it, and the message says by which flag it is
// raised.
func TestEveryLimitBites(t *testing.T) {
	heavy.Test(t)
	var dot bytes.Buffer
	if err := png.Encode(&dot, image.NewGray(image.Rect(0, 0, 3, 2))); err != nil {
		t.Fatal(err)
	}
	square := `{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[0,0],[0,1],[1,1],[1,0],[0,0]]]}}`
	find := `{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12","number":"1","name":"bell",` +
		`"media":[{"file":"a.png"}],"notes":"long enough"}`
	files := map[string]func(*bufio.Writer){
		"a.csv": text("No,Depth\n1,8 in\n2,9 in\n"),
		"a.findslip.json": text(`{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",` +
			`"people":[{"id":"person-1","roles":[{"code":"finder"}]}],"finds":[` + find + `]}`),
		"faults.jsonl": text(lineHead + strings.Repeat(`{"type":"find","find":{"x":1,"y":2}}`+"\n", 3)),
		"a.xlsx": zipping(book(text(`<row r="2"><c r="A2" t="s"><v>0</v></c></row>`),
			text("<sst><si><t>1</t></si><si><t>2</t></si></sst>"))),
		"blanks.xlsx": zipping(book(func(w *bufio.Writer) {
			repeat(w, strings.Repeat(" ", 1<<20), 5)
			w.WriteString(oneRow)
		}, nil)),
		"map.json":      text(`{"columns":[]}`),
		"areas.geojson": text(`{"type":"FeatureCollection","features":[` + square + `,` + square + `]}`),
		"a.png":         func(w *bufio.Writer) { w.Write(dot.Bytes()) },
	}
	share := []string{"share", "a.findslip.json", "--for", "recorder", "-o", "out.findslip.json", "--pictures", ".",
		"--no-register"}
	rows := map[string]struct {
		value  string
		args   []string
		status int // with the limit
	}{
		"bytes":         {"10", []string{"check", "a.csv"}, 2},
		"spool":         {"10", []string{"check", "-"}, 2},
		"side":          {"10", []string{"check", "a.csv", "--protected", "areas.geojson"}, 2},
		"held":          {"10", []string{"convert", "a.findslip.json", "-o", "out.xlsx", "--check-loss"}, 2},
		"record":        {"20", []string{"check", "a.findslip.json"}, 2},
		"header":        {"20", []string{"check", "a.findslip.json"}, 2},
		"values":        {"2", []string{"check", "a.findslip.json"}, 2},
		"header-values": {"2", []string{"check", "a.findslip.json"}, 2},
		"nesting":       {"1", []string{"check", "a.findslip.json"}, 1}, // a notice on the find, and the others are read
		"finds":         {"2", []string{"check", "faults.jsonl"}, 2},
		"rows":          {"2", []string{"check", "a.csv"}, 2},
		"columns":       {"1", []string{"check", "a.csv"}, 2},
		"cell":          {"3", []string{"check", "a.csv"}, 2},
		"row":           {"4", []string{"check", "a.csv"}, 2},
		"texts":         {"1", []string{"check", "a.xlsx"}, 2},
		"entries":       {"3", []string{"check", "a.xlsx"}, 2},
		"expanded":      {"300", []string{"check", "a.xlsx"}, 2},
		"ratio":         {"2", []string{"check", "blanks.xlsx", "--limit", "ratio=none"}, 2},
		"marked":        {"300", []string{"check", "book.xlsx", "--mark", "out.xlsx"}, 2},
		"areas":         {"1", []string{"check", "a.csv", "--protected", "areas.geojson"}, 2},
		"area-points":   {"9", []string{"check", "a.csv", "--protected", "areas.geojson"}, 2},
		"bag-files":     {"3", []string{"unpack", "in.zip", "-o", "out"}, 2},
		"bag-list":      {"50", []string{"unpack", "in.zip", "-o", "out"}, 2},
		"bag-bytes":     {"100", []string{"unpack", "in.zip", "-o", "out"}, 2},
		"picture":       {"10", share, 0}, // the picture stays behind, and that is said
		"pixels":        {"5", share, 0},
	}
	made := t.TempDir()
	for name, write := range files {
		writing(t, filepath.Join(made, name), write)
	}
	for _, before := range [][]string{{"pack", "a.findslip.json", "-o", "in.zip", "--pictures", "."},
		{"convert", "a.csv", "-o", "book.xlsx", "--quiet"}} {
		if r := hostileRun(t, made, nil, before...); r.status == 2 {
			t.Fatal(r.err)
		}
	}
	for _, l := range limit.All() {
		row, ok := rows[l.Name]
		if !ok {
			t.Errorf("no row for the limit %s", l.Name)
			continue
		}
		t.Run(l.Name, func(t *testing.T) {
			t.Parallel()
			run := func(flags ...string) ran {
				dir := hostileDir(t)
				if err := os.CopyFS(dir, os.DirFS(made)); err != nil {
					t.Fatal(err)
				}
				var in io.Reader
				if row.args[1] == "-" {
					in = strings.NewReader("No,Depth\n1,8 in\n")
				}
				r := hostileRun(t, dir, in, append(append([]string{}, row.args...), flags...)...)
				for _, name := range []string{"out", "out.findslip.json", "out.xlsx"} {
					if _, err := os.Lstat(filepath.Join(dir, name)); r.status == 2 && err == nil {
						t.Errorf("%v leaves %s behind", row.args, name)
					}
				}
				return r
			}
			says := "--limit " + l.Name + "=N"
			if r := run(); r.status == 2 || strings.Contains(r.err+r.out, says) {
				t.Errorf("without a flag %v ends with %d and says %.300s", row.args, r.status, r.err)
			}
			r := run("--limit", l.Name+"="+row.value)
			if r.status != row.status || !strings.Contains(r.err+r.out, says) || l.Name != "ratio" &&
				!strings.Contains(r.err+r.out, row.value) {
				t.Errorf("%v with %s=%s ends with %d and says %.300s%.300s", row.args, l.Name, row.value, r.status, r.err, r.out)
			}
		})
	}
}

// Outlines of protected areas that were made to do harm: refused with a word, or asked as quickly as any other, and
// memory stays bounded.
func TestHostileAreas(t *testing.T) {
	heavy.Test(t)
	round := func(w *bufio.Writer, points int) {
		for i := range points {
			at := 2 * math.Pi * float64(i) / float64(points)
			fmt.Fprintf(w, "[%.6f,%.6f],", 2*math.Cos(at)-1, math.Sin(at)+52)
		}
		w.WriteString("[1.000000,52.000000]")
	}
	polygon := func(rings func(w *bufio.Writer)) func(*bufio.Writer) {
		return func(w *bufio.Writer) {
			w.WriteString(`{"type":"Polygon","coordinates":[`)
			rings(w)
			w.WriteString("]}")
		}
	}
	all := cases.Table[map[string]hostile](t, "HostileAreas")
	maps.Copy(all, map[string]hostile{
		"one outline of a million points": {made: polygon(func(w *bufio.Writer) {
			w.WriteString("[")
			round(w,
				1_000_000)
			w.WriteString("]")
		}), Says: "protected-ground"},
		"many holes": {made: polygon(func(w *bufio.Writer) {
			w.WriteString("[")
			round(w, 200_000)
			w.WriteString("]")
			for i := range 200_000 {
				x, y := -1.5+float64(i%500)/1000, 51.8+float64(i/500)/1000
				fmt.Fprintf(w, ",[[%.4f,%.4f],[%.4f,%.4f],[%.4f,%.4f],[%.4f,%.4f]]", x, y, x+0.0005, y, x, y+0.0005, x, y)
			}
		}), Says: "protected-ground"},
		"a comb": {made: polygon(func(w *bufio.Writer) {
			w.WriteString("[[0,49]")
			for i := range 20_000 {
				if x := float64(i) / 40_000; i%2 == 0 {
					fmt.Fprintf(w, ",[%.5f,50],[%.5f,51]", x, x+1)
				} else {
					fmt.Fprintf(w, ",[%.5f,51],[%.5f,50]", x+1, x)
				}
			}
			w.WriteString(",[0.49998,49],[0,49]]")
		}), Says: "1 area"},
		"invalid UTF-8": {made: text("{\"type\":\"\xff\"}"), Check: 2, Says: "not GeoJSON"},
	})
	for name, h := range all {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := hostileDir(t)
			writing(t, filepath.Join(dir, "areas.geojson"), h.write)
			writing(t, filepath.Join(dir, "a.csv"), func(w *bufio.Writer) {
				w.WriteString("No,Find,Lat,Lon\n")
				for i := range 2000 {
					fmt.Fprintf(w, "%d,bell,%.5f,%.5f\n", i, 51.5+float64(i%50)/50, -1.5+float64(i/50)/40)
				}
			})
			r := hostileRun(t, dir, nil, "check", "a.csv", "--protected", "areas.geojson", "--fail-on", "never")
			if r.status != h.Check || !strings.Contains(r.out+r.err, h.Says) {
				t.Errorf("check ends with %d and says %.400s%.400s", r.status, r.err, r.out)
			}
			tidy(t, dir, "a.csv", "areas.geojson")
		})
	}
}

// As many notices as there may be cost little more than the memory of one list, in every form; as a page, and packed,
// they are shown by "empty people" in TestHostileCommands.
func TestManyNotices(t *testing.T) {
	heavy.Test(t)
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.csv"), func(w *bufio.Writer) {
		w.WriteString("No,Find,Depth,Lat,Lon\n")
		for i := range 180_000 {
			fmt.Fprintf(w, "%d,bell,8 in,52.1,-1.2\n", i)
		}
	})
	for _, args := range [][]string{{"check", "a.csv", "--report", "json"}, {"check", "a.csv", "--report", "sarif"}} {
		if r := hostileRun(t, dir, nil, args...); r.status == 2 {
			t.Errorf("%v: %s", args, r.err)
		}
	}
	tidy(t, dir, "a.csv")
}

// A find with more members than anybody has columns becomes a sheet in no more than a moment.
func TestVeryWideSheet(t *testing.T) {
	heavy.Test(t)
	t.Parallel()
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.geojson"), func(w *bufio.Writer) {
		w.WriteString(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null,"properties":{"number":"1"`)
		for i := range 16_000 {
			fmt.Fprintf(w, `,"m%d":%d`, i, i)
		}
		w.WriteString("}}]}")
	})
	for _, form := range []string{"xlsx", "csv", "kml", "gpx"} {
		if r := hostileRun(t, dir, nil, "convert", "a.geojson", "-o", "out."+form, "--quiet"); r.status == 2 {
			t.Errorf("%s: %s", form, r.err)
		}
	}
	tidy(t, dir, "a.geojson", "out.xlsx", "out.csv", "out.kml", "out.gpx")
}
