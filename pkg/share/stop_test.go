package share

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// counted is a context that is cancelled once it has been asked so many times. It stops work in its
// very middle, and nothing is timed.
type counted struct {
	context.Context
	left  int
	asked int // in all
}

func (c *counted) Err() error {
	c.asked++
	if c.left--; c.left < 0 {
		return context.Canceled
	}
	return nil
}

// Each work over a whole report asks again and again whether it is to go on, ends soon after it is
// told not to, wherever it is, and gives nothing.
func TestStopped(t *testing.T) {
	source := randomReport(rand.New(rand.NewPCG(21, 22)))
	for i := range 88 {
		f := *source.Finds[i%12]
		f.ID, f.Number = find.FindID(source.ID, fmt.Sprint("more ", i)), fmt.Sprintf("SF-%03d", 100+i)
		source.Finds = append(source.Finds, &f)
	}
	copied, err := Copy(t.Context(), source, Options{Audience: Public})
	if err != nil {
		t.Fatal(err)
	}
	data := map[string][]byte{}
	for name, of := range map[string]*find.Report{"copy": copied.Report, "source": source} {
		var b bytes.Buffer
		if err := find.EncodeJSON(&b, find.StreamOf(of)); err != nil {
			t.Fatal(err)
		}
		data[name] = b.Bytes()
	}
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	for _, name := range []string{"copy", "source"} {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(data[name]); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	leaks := func(b []byte) func(context.Context) (bool, error) {
		return func(ctx context.Context) (bool, error) {
			l, err := Leaks(ctx, b, source, copied, Public, limit.Limits{})
			return l.Leaks != nil, err
		}
	}
	for name, work := range map[string]func(context.Context) (bool, error){
		"copy": func(ctx context.Context) (bool, error) {
			c, err := Copy(ctx, source, Options{Audience: Public})
			return c != nil, err
		},
		"copy with notes": func(ctx context.Context) (bool, error) {
			c, err := Copy(ctx, source, Options{Audience: Public, Notes: true})
			return c != nil, err
		},
		"leaks of the copy":   leaks(data["copy"]),
		"leaks of the source": leaks(data["source"]),
		"leaks of a zip file": leaks(packed.Bytes()),
		"spans": func(ctx context.Context) (bool, error) {
			s, err := spansOf(ctx, source, copied, Public)
			return s != nil, err
		},
	} {
		whole := &counted{Context: t.Context(), left: 1 << 30}
		if _, err := work(whole); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if whole.asked < 50 {
			t.Errorf("%s over 100 finds asks %d times whether it is to go on", name, whole.asked)
		}
		for part := range 8 {
			ctx := &counted{Context: t.Context(), left: whole.asked * part / 8}
			gave, err := work(ctx)
			if !errors.Is(err, context.Canceled) || gave {
				t.Errorf("%s, stopped at %d of 8: %v, result %v", name, part, err, gave)
			}
			if after := ctx.asked - whole.asked*part/8; after > 16 {
				t.Errorf("%s, stopped at %d of 8, asks %d times more", name, part, after)
			}
		}
	}
	search, err := NewSearch(t.Context(), Held(source), copied, Public)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := search.Name(&counted{Context: t.Context(), left: 0}, "season.json"); !errors.Is(err, context.Canceled) {
		t.Errorf("of a name: %v", err)
	}
}
