package pipeline_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/repair"
	"github.com/findslip/findslip/pkg/share"
)

// counted is a context that is cancelled once it has been asked so many times, so that work is stopped
// in its very middle and nothing is timed.
type counted struct {
	context.Context
	left, asked atomic.Int64
}

func after(t *testing.T, n int64) *counted {
	c := &counted{Context: t.Context()}
	c.left.Store(n)
	return c
}

func (c *counted) Err() error {
	c.asked.Add(1)
	if c.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// pictured is a folder with a log of finds, each with a picture.
func pictured(t *testing.T, n int) fstest.MapFS {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 40, 30))
	for i := range img.Pix {
		img.Pix[i] = byte(i * i >> 2)
	}
	var jpg bytes.Buffer
	if err := jpeg.Encode(&jpg, img, nil); err != nil {
		t.Fatal(err)
	}
	files := fstest.MapFS{}
	var finds []string
	for i := range n {
		name := fmt.Sprintf("p%d.jpg", i)
		files[name] = &fstest.MapFile{Data: jpg.Bytes()}
		finds = append(finds,
			fmt.Sprintf(`{"id": "urn:uuid:00000000-0000-5000-8000-%012d", "number": "%d", "name": "button of Mr Furlong", "depth": {"verbatim": "8 in"},
			"position": {"latitude": 52.5%04d, "longitude": -1.2%04d}, "notes": "by the old oak", "media": [{"file": %q, "view": {"code": "front"}}]}`, i+1, i+1, i*7, i*3, name))
	}
	files["log.findslip.json"] = &fstest.MapFile{Data: []byte(`{"findslip": "1.0", "id": "urn:uuid:00000000-0000-5000-8000-0000000000ff", "people": [{"id": "person-1", "name": "Tilly Furlong"}],
		"finds": [` + strings.Join(finds, ",\n") + "]}")}
	return files
}

// Sharing, packing, unpacking, proposing, repairing, comparing and upgrading stop soon after they are told to,
// wherever they are, and leave no file behind.
func TestStoppedAnywhere(t *testing.T) {
	files := pictured(t, 12)
	o := pipeline.Options{FS: files, Files: files, To: pipeline.Findslip, Workers: 1}
	const name = "log.findslip.json"
	public := pipeline.ShareOptions{Options: share.Options{Audience: share.Public, Notes: true}, HoldBack: true,
		SavePicture: func(string, []byte) error { return nil }}
	parent := t.TempDir()
	packed, err := pipeline.Pack(t.Context(), name, o, pipeline.PackOptions{Name: "season"}, pipeline.ShareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	defer packed.Close()
	var z bytes.Buffer
	if err := errors.Join(packed.WriteFolder(t.Context(), parent), packed.WriteZip(t.Context(), &z),
		os.WriteFile(filepath.Join(parent, "season.zip"), z.Bytes(), 0o600)); err != nil {
		t.Fatal(err)
	}
	all := works()
	all["share with pictures"] = func(ctx context.Context, _ string, _ io.Writer, o pipeline.Options) error {
		_, err := pipeline.Share(ctx, name, o, public)
		return err
	}
	all["share as a page"] = func(ctx context.Context, _ string, _ io.Writer, o pipeline.Options) error {
		o.To = pipeline.Page
		s := public
		s.Audience = share.Expert
		_, err := pipeline.Share(ctx, name, o, s)
		return err
	}
	var into string // the folder that is written to
	all["pack for the public"] = func(ctx context.Context, _ string, _ io.Writer, o pipeline.Options) error {
		p, err := pipeline.Pack(ctx, name, o, pipeline.PackOptions{Name: "season"}, public)
		if err != nil {
			return err
		}
		defer p.Close()
		return p.WriteFolder(ctx, into)
	}
	all["unpack a zip file"] = func(ctx context.Context, _ string, _ io.Writer, _ pipeline.Options) error {
		_, err := new(pipeline.Unfinished).Unpack(ctx, filepath.Join(parent, "season.zip"),
			filepath.Join(into, "season"), limit.Limits{})
		return err
	}
	all["unpack a folder"] = func(ctx context.Context, _ string, _ io.Writer, _ pipeline.Options) error {
		_, err := new(pipeline.Unfinished).Unpack(ctx, filepath.Join(parent, "season"), "", limit.Limits{})
		return err
	}
	for what, do := range all {
		work := func(ctx context.Context) error { return do(ctx, name, io.Discard, o) }
		into = t.TempDir()
		whole := after(t, 1<<40)
		if err := work(whole); err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		all := whole.asked.Load()
		if all < 15 { // more than once a find
			t.Errorf("%s of 12 finds asks %d times whether it is to go on", what, all)
		}
		for part := range int64(10) {
			into = t.TempDir()
			ctx := after(t, all*part/10)
			if err := work(ctx); !saysStopped(err) {
				t.Errorf("%s, stopped at %d of 10: %v", what, part, err)
			}
			if more := ctx.asked.Load() - all*part/10; more > 40 {
				t.Errorf("%s, stopped at %d of 10, asks %d times more", what, part, more)
			}
			if left, _ := os.ReadDir(into); len(left) > 0 {
				t.Errorf("%s, stopped at %d of 10, leaves %s", what, part, left[0].Name())
			}
		}
	}
}

// Work that is told to stop ends with the error of its context, wherever it is, and leaves nothing
// behind. Nothing here is timed: bytes and finds are counted.

// works is every function that takes a context, writing to w what it writes.
func works() map[string]func(ctx context.Context, name string, w io.Writer, o pipeline.Options) error {
	return map[string]func(context.Context, string, io.Writer, pipeline.Options) error{
		"check": func(ctx context.Context, name string, _ io.Writer, o pipeline.Options) error {
			_, err := pipeline.Check(ctx, name, o)
			return err
		},
		"convert": func(ctx context.Context, name string, w io.Writer, o pipeline.Options) error {
			_, err := pipeline.Convert(ctx, name, w, o)
			return err
		},
		"share": func(ctx context.Context, name string, w io.Writer, o pipeline.Options) error {
			r, err := pipeline.Share(ctx, name, o, pipeline.ShareOptions{Options: share.Options{Audience: share.Public}})
			if r != nil {
				w.Write(r.Data())
			}
			return err
		},
		"propose": func(ctx context.Context, name string, _ io.Writer, o pipeline.Options) error {
			_, err := repair.Propose(ctx, name, o)
			return err
		},
		"repair": func(ctx context.Context, name string, w io.Writer, o pipeline.Options) error {
			_, err := repair.Apply(ctx, name, &repair.Proposals{}, w, o)
			return err
		},
		"loss": func(ctx context.Context, name string, _ io.Writer, o pipeline.Options) error {
			_, err := pipeline.CheckLoss(ctx, name, o)
			return err
		},
		"pack": func(ctx context.Context, name string, w io.Writer, o pipeline.Options) error {
			p, err := pipeline.Pack(ctx, name, o, pipeline.PackOptions{Name: "handover"}, pipeline.ShareOptions{})
			if err != nil {
				return err
			}
			defer p.Close()
			return p.WriteZip(ctx, w)
		},
		"pack for": func(ctx context.Context, name string, w io.Writer, o pipeline.Options) error {
			p, err := pipeline.Pack(ctx, name, o, pipeline.PackOptions{Name: "handover"},
				pipeline.ShareOptions{Options: share.Options{Audience: share.Public}})
			if err != nil {
				return err
			}
			defer p.Close()
			return p.WriteZip(ctx, w)
		},
		"leaks": func(ctx context.Context, name string, _ io.Writer, o pipeline.Options) error {
			search, err := pipeline.OpenLeaks(ctx, name, o)
			if err != nil {
				return err
			}
			defer search.Close()
			_, _, err = search.Look(ctx, name, share.Public)
			return err
		},
		"open": func(ctx context.Context, name string, _ io.Writer, o pipeline.Options) error {
			in, err := pipeline.Open(ctx, name, o)
			if err != nil {
				return err
			}
			defer in.Close()
			_, _, err = find.Collect(in.Stream.Until(ctx))
			return err
		},
	}
}

// saysStopped reports whether an error says that the work was stopped and not that the file is bad.
func saysStopped(err error) bool {
	var bad *pipeline.InputError
	return errors.Is(err, context.Canceled) && strings.Contains(err.Error(), context.Canceled.Error()) && !errors.As(err,
		&bad)
}

// endless is a log of JSON Lines without an end. After some bytes it tells stop.
type endless struct {
	left, after int
	stop        func()
}

func (e *endless) Read(p []byte) (int, error) {
	if e.left <= 0 {
		e.after++
		e.stop()
	}
	n := copy(p, strings.Repeat(`{"id": "urn:uuid:00000000-0000-5000-8000-000000000001"}`+"\n", 100))
	e.left -= n
	return n, nil
}

func TestStoppedOverAnEndlessInput(t *testing.T) {
	for what, work := range works() {
		ctx, stop := context.WithCancel(context.Background())
		in := &endless{left: 1 << 20, stop: stop}
		var out bytes.Buffer
		err := work(ctx, "-", &out, pipeline.Options{Stdin: in, To: pipeline.JSONL})
		if !saysStopped(err) || out.Len() > 0 {
			t.Errorf("%s: %v, with %d bytes of output", what, err, out.Len())
		}
		if in.after > 1 {
			t.Errorf("%s reads %d times more after it was told to stop", what, in.after)
		}
		stop()
	}
}

// silent is an input that never says anything, as a terminal that nobody types at.
type silent struct{ asked, end chan struct{} }

func (s silent) Read([]byte) (int, error) {
	close(s.asked)
	<-s.end
	return 0, io.EOF
}

func TestStoppedWhileTheInputIsSilent(t *testing.T) {
	for what, work := range works() {
		ctx, stop := context.WithCancel(context.Background())
		in := silent{make(chan struct{}), make(chan struct{})}
		go func() { <-in.asked; stop() }()
		var out bytes.Buffer
		if err := work(ctx, "-", &out, pipeline.Options{Stdin: in, To: pipeline.JSONL}); !saysStopped(err) || out.Len() > 0 {
			t.Errorf("%s: %v, with %d bytes of output", what, err, out.Len())
		}
		close(in.end)
	}
}

// tapped is a file system of one file, which tells stop when so many bytes have been read of it.
type tapped struct {
	name  string
	data  []byte
	until int
	read  *int
	after *int // reads since
	stop  func()
	mu    *sync.Mutex // pieces of a file are read at the same time
}

type tappedFile struct {
	*bytes.Reader
	of tapped
}

func (t tapped) Open(name string) (fs.File, error) {
	if name != t.name {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &tappedFile{bytes.NewReader(t.data), t}, nil
}

func (f *tappedFile) count(n int) {
	f.of.mu.Lock()
	defer f.of.mu.Unlock()
	if *f.of.read >= f.of.until {
		*f.of.after++
	}
	if *f.of.read += n; *f.of.read >= f.of.until {
		f.of.stop()
	}
}

func (f *tappedFile) Read(p []byte) (int, error) {
	n, err := f.Reader.Read(p)
	f.count(n)
	return n, err
}

func (f *tappedFile) ReadAt(p []byte, at int64) (int, error) {
	n, err := f.Reader.ReadAt(p, at)
	f.count(n)
	return n, err
}

func (f *tappedFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f *tappedFile) Close() error               { return nil }
func (f *tappedFile) Name() string               { return f.of.name }
func (f *tappedFile) Size() int64                { return int64(len(f.of.data)) }
func (f *tappedFile) Mode() fs.FileMode          { return 0o444 }
func (f *tappedFile) ModTime() time.Time         { return time.Time{} }
func (f *tappedFile) IsDir() bool                { return false }
func (f *tappedFile) Sys() any                   { return nil }

// long is a log of n finds in a format.
func long(t *testing.T, n int, to pipeline.Format) []byte {
	t.Helper()
	var lines strings.Builder
	lines.WriteString("number,name,depth,latitude,longitude\n")
	for i := range n {
		fmt.Fprintf(&lines, "%d,button,8 in,52.5,-1.25\n", i+1)
	}
	if to == pipeline.CSV {
		return []byte(lines.String())
	}
	var out bytes.Buffer
	if _, err := pipeline.Convert(context.Background(), "-", &out,
		pipeline.Options{Stdin: strings.NewReader(lines.String()), From: pipeline.CSV, To: to}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestStoppedInTheMiddleOfAFile(t *testing.T) {
	endings := map[pipeline.Format]string{pipeline.Findslip: ".json", pipeline.JSONL: ".jsonl",
		pipeline.GeoJSON: ".geojson", pipeline.XLSX: ".xlsx", pipeline.CSV: ".csv", pipeline.GPX: ".gpx",
		pipeline.KML: ".kml"}
	for _, format := range pipeline.Formats() {
		data := long(t, 1500, format)
		for what, work := range works() {
			ctx, stop := context.WithCancel(context.Background())
			var read, after int
			name := "log" + endings[format]
			files := tapped{name, data, len(data) / 2, &read, &after, stop, new(sync.Mutex)}
			target := filepath.Join(t.TempDir(), "out")
			err := (pipeline.Output{Name: target}).Write(func(w io.Writer) error {
				return work(ctx, name, w, pipeline.Options{FS: files, To: pipeline.JSONL})
			})
			stop()
			if !saysStopped(err) {
				t.Errorf("%s of %s: %v", what, format, err)
			}
			if after > 8 { // reads that were under way, for pieces of a file are read at the same time
				t.Errorf("%s of %s reads %d times more after it was told to stop", what, format, after)
			}
			if left, _ := os.ReadDir(filepath.Dir(target)); len(left) > 0 {
				t.Errorf("%s of %s leaves %s", what, format, left[0].Name())
			}
		}
	}
}

// A caller that tells stop after ten finds gets no eleventh, though others were read ahead.
func TestStoppedAfterTenFinds(t *testing.T) {
	for _, format := range pipeline.Formats() {
		ctx, stop := context.WithCancel(context.Background())
		seen := 0
		watch := func(*find.Entry) error {
			if seen++; seen == 10 {
				stop()
			}
			return nil
		}
		_, err := pipeline.Check(ctx, "-", pipeline.Options{Stdin: bytes.NewReader(long(t, 200, format)), From: format,
			Watch: watch})
		if !saysStopped(err) || seen != 10 {
			t.Errorf("%s: %d finds, %v", format, seen, err)
		}
		stop()
	}
}

// What has been read whole is not worked on after the work was told to stop.
func TestStoppedAfterReading(t *testing.T) {
	data := long(t, 50, pipeline.JSONL)
	for what, work := range works() {
		ctx, stop := context.WithCancel(context.Background())
		var read, after int
		var out bytes.Buffer
		err := work(ctx, "log.jsonl", &out, pipeline.Options{FS: tapped{"log.jsonl", data, len(data), &read, &after, stop,
			new(sync.Mutex)}, To: pipeline.JSONL})
		if !saysStopped(err) || what == "share" && out.Len() > 0 {
			t.Errorf("%s: %v, with %d bytes of output", what, err, out.Len())
		}
		stop()
	}
}
