package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/pipeline"
)

// A clock that goes on by a tenth of a second each time it is looked at: nothing is said in the first
// second, then one line in two looks, with the end in sight where the rows were counted, and the line goes away.
func TestProgress(t *testing.T) {
	var log strings.Builder
	log.WriteString("No,Find,Depth [in]\n")
	const rows = 3000
	for i := range rows {
		fmt.Fprintf(&log, "%d,bell,%d\n", i+1, i%9+1)
	}
	name := filepath.Join(t.TempDir(), "log.csv")
	if err := os.WriteFile(name, []byte(log.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	at := time.Unix(0, 0)
	o := pipeline.Options{To: pipeline.JSONL}
	g := watch(&said, func() time.Time { at = at.Add(time.Second / 10); return at }, &o)
	if _, err := pipeline.Convert(context.Background(), name, io.Discard, o); err != nil {
		t.Fatal(err)
	}
	g.clear()
	lines := strings.Split(said.String(), "\r\x1b[K")
	// The survey looks twice, at 1,024 and 2,048 rows; finds are counted from the third look on.
	want := []string{"", "8 of 3000 finds read", "10 of 3000 finds read"}
	if d := cmp.Diff(want, lines[:3]); d != "" {
		t.Error(d)
	}
	if len(lines) != 1+(rows-8)/2+1+1 || lines[len(lines)-1] != "" {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
	said.Reset()
	g.next = time.Time{}
	o.Table.Looked(2048)
	o.Progress(7, 0)
	g.next = time.Time{}
	o.Progress(8, 0)
	g.clear()
	g.clear()
	if d := cmp.Diff("\r\x1b[Klooking through the table: 2048 rows\r\x1b[K8 finds read\r\x1b[K", said.String()); d != "" {
		t.Error(d)
	}
}

// Standard error that is no terminal hears nothing of it.
func TestProgressForPeopleAlone(t *testing.T) {
	var o pipeline.Options
	(&program{err: new(bytes.Buffer)}).progress(&o)()
	if o.Progress != nil || o.Table.Looked != nil {
		t.Error("a file would be told how far the work is")
	}
}
