package pipeline_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"testing/fstest"

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
		finds = append(finds, fmt.Sprintf(`{"id": "urn:uuid:00000000-0000-5000-8000-%012d", "number": "%d", "name": "button of Mr Furlong", "depth": {"verbatim": "8 in"},
			"position": {"latitude": 52.5%04d, "longitude": -1.2%04d}, "notes": "by the old oak", "media": [{"file": %q}]}`, i+1, i+1, i*7, i*3, name))
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
	for what, work := range map[string]func(ctx context.Context, into string) error{
		"share": func(ctx context.Context, _ string) error {
			_, err := pipeline.Share(ctx, name, o, public)
			return err
		},
		"share as a page": func(ctx context.Context, _ string) error {
			page := o
			page.To = pipeline.Page
			s := public
			s.Audience = share.Expert
			_, err := pipeline.Share(ctx, name, page, s)
			return err
		},
		"pack for the public": func(ctx context.Context, into string) error {
			p, err := pipeline.Pack(ctx, name, o, pipeline.PackOptions{Name: "season"}, public)
			if err != nil {
				return err
			}
			defer p.Close()
			return p.WriteFolder(ctx, into)
		},
		"unpack a zip file": func(ctx context.Context, into string) error {
			_, err := pipeline.Unpack(ctx, filepath.Join(parent, "season.zip"), filepath.Join(into, "season"), limit.Limits{})
			return err
		},
		"unpack a folder": func(ctx context.Context, _ string) error {
			_, err := pipeline.Unpack(ctx, filepath.Join(parent, "season"), "", limit.Limits{})
			return err
		},
		"propose": func(ctx context.Context, _ string) error {
			_, err := repair.Propose(ctx, name, o)
			return err
		},
		"repair": func(ctx context.Context, _ string) error {
			_, err := repair.Apply(ctx, name, &repair.Proposals{}, io.Discard, o)
			return err
		},
		"compare": func(ctx context.Context, _ string) error {
			to := o
			to.To = pipeline.XLSX
			_, err := pipeline.CheckLoss(ctx, name, to)
			return err
		},
		"leaks": func(ctx context.Context, _ string) error {
			_, _, err := leaksOfFile(ctx, name, name, share.Public, o)
			return err
		},
	} {
		whole := after(t, 1<<40)
		if err := work(whole, t.TempDir()); err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		all := whole.asked.Load()
		if all < 20 {
			t.Errorf("%s of 12 finds asks %d times whether it is to go on", what, all)
		}
		for part := range int64(10) {
			into := t.TempDir()
			ctx := after(t, all*part/10)
			if err := work(ctx, into); !saysStopped(err) {
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

func leaksOfFile(ctx context.Context, name, source string, a share.Audience, o pipeline.Options) (share.Looked,
	share.Audience, error) {
	search, err := pipeline.OpenLeaks(ctx, source, o)
	if err != nil {
		return share.Looked{}, "", err
	}
	defer search.Close()
	return search.Look(ctx, name, a)
}
