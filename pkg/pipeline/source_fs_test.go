package pipeline_test

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/share"
)

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
