package pipeline_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/validate"
)

const log = "Number,Find,Depth,Date found\n1,bell,8,25/12/2025\n2,jetton,more than a foot,3/12/2025\n"

func ExampleCheck() {
	options := pipeline.Options{Stdin: strings.NewReader(log), Level: validate.NoLevel}
	result, err := pipeline.Check(context.Background(), "-", options)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, n := range result.Notices {
		if n.Kind.Severity != notice.Info {
			fmt.Println(n.Place(), n.Message)
		}
	}
	// Output:
	// C2 the number has no unit
}

func ExampleConvert() {
	options := pipeline.Options{Stdin: strings.NewReader(log), To: pipeline.JSONL,
		Read: normalise.Options{Unit: quantity.IN}}
	var out bytes.Buffer
	if _, err := pipeline.Convert(context.Background(), "-", &out, options); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(strings.Contains(out.String(),
		`"depth":{"min":20.32,"max":20.32,"unit":"cm","said":"in","resolution":2.54,"verbatim":"8"}`))
	// Output: true
}

func TestFormatsAreTold(t *testing.T) {
	dir := t.TempDir()
	for name, c := range cases.Table[map[string]struct {
		Text string
		Want pipeline.Format
	}](t, "FormatsAreTold") {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(c.Text), 0o644); err != nil {
			t.Fatal(err)
		}
		in, err := pipeline.Open(t.Context(), file, pipeline.Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if in.Format != c.Want {
			t.Errorf("%s is taken for %s", name, in.Format)
		}
		if err := in.Close(); err != nil {
			t.Error(err)
		}
	}
}

func TestWhatCannotBeOpened(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return file
	}
	for name, c := range map[string]struct{ file, want string }{
		"missing":     {filepath.Join(dir, "nothing.csv"), "no such file"},
		"folder":      {dir, "a folder"},
		"empty":       {write("empty.xlsx", ""), "is empty"},
		"wrong type":  {write("picture.xlsx", "\x89PNG\r\n\x1a\n\x00\x00"), "a photo"},
		"other bytes": {write("odd", "\x00\x01\x02"), "cannot be told"},
		"cut zip":     {write("cut.xlsx", "PK\x03\x04\x14\x00"), "cut short or damaged"},
		"old workbook": {write("old.xls", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"+strings.Repeat("\x00", 600)),
			"older office program"},
		"other json":    {write("other.json", `{"a":1}`), "not a find report"},
		"later version": {write("v2.findslip.json", `{"findslip":"2.0","finds":[]}`), "newer program"},
		"invalid utf-8": {write("bad.findslip.json", "{\"findslip\":\"1.0\",\"title\":\"\xff\"}"), "UTF-8"},
	} {
		_, err := pipeline.Check(context.Background(), c.file, pipeline.Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), filepath.Base(c.file)) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := pipeline.Check(context.Background(), "-", pipeline.Options{}); err == nil {
		t.Error("no standard input is accepted")
	}
}

func TestFilesAreWrittenWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "out.json")
	text := func(w io.Writer) error { _, err := io.WriteString(w, "whole"); return err }
	if err := (pipeline.Output{Name: file}).Write(text); err != nil {
		t.Fatal(err)
	}
	if err := (pipeline.Output{Name: file}).Write(text); !errors.Is(err, pipeline.ErrExists) {
		t.Errorf("a file that is there: %v", err)
	}
	if err := (pipeline.Output{Name: file, Force: true, Inputs: []string{file}}).Write(text); err == nil {
		t.Error("an input is written over")
	}
	broken := errors.New("in the middle")
	if err := (pipeline.Output{Name: file, Force: true}).Write(func(w io.Writer) error {
		io.WriteString(w,
			"half")
		return broken
	}); !errors.Is(err, broken) {
		t.Errorf("a failure is told as %v", err)
	}
	if err := (pipeline.Output{Name: filepath.Join(dir, "none", "out.json"), Force: true}).Write(text); err == nil {
		t.Error("a folder that is not there is written to")
	}
	got, err := os.ReadFile(file)
	if err != nil || string(got) != "whole" {
		t.Errorf("the file holds %q, %v", got, err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 1 {
		t.Errorf("%d files are left, %v", len(entries), err)
	}
}

func TestStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := pipeline.Check(ctx, "-", pipeline.Options{Stdin: strings.NewReader(log)}); !errors.Is(err,
		context.Canceled) {
		t.Errorf("a stopped check: %v", err)
	}
}

func TestKindsAreOnceAndWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range pipeline.Kinds() {
		if seen[k.Code] || kinds.Named(k.Code) != k {
			t.Errorf("%s stands twice, or not in the order of the codes", k.Code)
		}
		seen[k.Code] = true
	}
	if len(seen) < 190 {
		t.Errorf("only %d kinds", len(seen))
	}
}

// Where x is the northing and the other way round lies in the country too, what was assumed is told; letters of the
// directions leave nothing to assume.
func TestAxesAssumed(t *testing.T) {
	for headings, want := range map[string]bool{"X 1992,Y 1992": true, "N 1992,E 1992": false} {
		r, err := pipeline.Check(context.Background(), "-", pipeline.Options{Level: validate.NoLevel,
			Stdin: strings.NewReader("number,name," + headings + "\n1,coin,432915,570980\n")})
		if err != nil {
			t.Fatal(err)
		}
		if got := slices.Contains(codes(r), "axes-assumed"); got != want {
			t.Errorf("%s: told %v, want %v", headings, got, want)
		}
	}
}

// A unit with two meanings is not called missing as well.
func TestAmbiguousUnitIsNotMissing(t *testing.T) {
	in := "id,number,name,weight\n,1,coin,\"1,3 gr\"\n"
	r, err := pipeline.Check(context.Background(), "-",
		pipeline.Options{Stdin: strings.NewReader(in), Level: validate.NoLevel})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, x := range r.Notices {
		if x.Pointer == "/weight" || strings.HasSuffix(x.Pointer, "/weight") {
			got = append(got, x.Kind.Code)
		}
	}
	if len(got) != 1 || got[0] != "unit-ambiguous" {
		t.Errorf("the weight draws %q", got)
	}
}

// One fault of one cell is reported once, though reading and a rule both see it.
func TestOneFaultIsToldOnce(t *testing.T) {
	r, err := pipeline.Check(context.Background(), "-",
		pipeline.Options{Stdin: strings.NewReader(log), Level: validate.NoLevel})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, x := range r.Notices {
		if x.Kind.Code == "unit-missing" {
			n++
		}
	}
	if n != 1 {
		t.Errorf("unit-missing is told %d times", n)
	}
}

// An accepted notice is set aside with its reason; an acceptance that meets nothing is reported.
func TestAcceptedNotices(t *testing.T) {
	text := `{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e","finds":[{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11","number":"1","name":"bell","depth":{"verbatim":"8"}}],
	"accepted":[{"code":"unit-missing","find":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11","reason":"the diary is lost","on":"2026-04-12"},{"code":"null-island","reason":"none"}]}`
	r, err := pipeline.Check(context.Background(), "-",
		pipeline.Options{Stdin: strings.NewReader(text), Level: validate.NoLevel})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Accepted) != 1 || r.Accepted[0].Kind.Code != "unit-missing" || r.Accepted[0].Accepted != "the diary is lost" {
		t.Errorf("accepted: %+v", r.Accepted)
	}
	stale := 0
	for _, n := range r.Notices {
		if n.Kind.Code == "unit-missing" {
			t.Error("an accepted notice is still open")
		}
		if n.Kind.Code == "acceptance-stale" && n.Pointer == "/accepted/1" {
			stale++
		}
	}
	if stale != 1 {
		t.Errorf("the acceptance that meets nothing is told %d times", stale)
	}
}

// onlyRead hides that the files of a file system can be read at any place.
type onlyRead struct{ fs.FS }

func (o onlyRead) Open(name string) (fs.File, error) {
	f, err := o.FS.Open(name)
	if err != nil {
		return nil, err
	}
	return struct{ fs.File }{f}, nil
}

// What is read from an fs.FS is what is read from the folder, whatever its files can do.
func TestReadFromFS(t *testing.T) {
	const folder = "../../examples/thornmere"
	for _, name := range []string{"season.xlsx", "season.csv", "season.findslip.json"} {
		content, err := os.ReadFile(folder + "/" + name)
		if err != nil {
			t.Fatal(err)
		}
		var want bytes.Buffer
		if _, err := pipeline.Convert(context.Background(), folder+"/"+name, &want,
			pipeline.Options{To: pipeline.JSONL}); err != nil {
			t.Fatal(err)
		}
		for kind, source := range map[string]fs.FS{
			"folder": os.DirFS(folder), "memory": fstest.MapFS{name: {Data: content}}, "only read": onlyRead{os.DirFS(folder)},
		} {
			var got bytes.Buffer
			if _, err := pipeline.Convert(context.Background(), name, &got,
				pipeline.Options{FS: source, To: pipeline.JSONL}); err != nil {
				t.Fatalf("%s from %s: %v", name, kind, err)
			}
			if got.Len() == 0 || !bytes.Equal(got.Bytes(), want.Bytes()) {
				t.Errorf("%s from %s is not what the folder gives", name, kind)
			}
		}
	}
	var e *pipeline.InputError
	if _, err := pipeline.Check(context.Background(), "none.csv", pipeline.Options{FS: fstest.MapFS{}}); !errors.As(err,
		&e) || e.Code != "file-missing" {
		t.Errorf("a name that is not there: %v", err)
	}
	if _, err := pipeline.Check(context.Background(), "../season.csv",
		pipeline.Options{FS: os.DirFS(folder)}); !errors.As(err, &e) {
		t.Errorf("a name that leads out: %v", err)
	}
}

// A hand-over takes its pictures from beside the report, also where the report lies in an fs.FS.
func TestPicturesInAFileSystem(t *testing.T) {
	files := fstest.MapFS{}
	for name, f := range pictured(t, 3) {
		files["season/"+name] = f
	}
	delete(files, "season/p2.jpg")
	const name = "season/log.findslip.json"
	p, err := pipeline.Pack(t.Context(), name, pipeline.Options{FS: files}, pipeline.PackOptions{Name: "season"},
		pipeline.ShareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	if p.Pictures != 2 || len(p.Missing) != 1 || p.Missing[0] != "p2.jpg" {
		t.Errorf("%d pictures, missing %v", p.Pictures, p.Missing)
	}
	for _, a := range []share.Audience{share.Recorder, share.Expert} {
		p, err := pipeline.Pack(t.Context(), name, pipeline.Options{FS: files}, pipeline.PackOptions{Name: "season"},
			pipeline.ShareOptions{Options: share.Options{Audience: a}, HoldBack: true})
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Shared.Leaks) > 0 || p.Pictures != 2 || len(p.Shared.LeftOut) != 1 {
			t.Errorf("for %s: %v leak, %d pictures, %v left out", a, p.Shared.Leaks, p.Pictures, p.Shared.LeftOut)
		}
		if err := p.Close(); err != nil {
			t.Error(err)
		}
	}
}
