package limit

import (
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
)

// Every member of Limits is in the list, with a default and with words, and no two share a name.
func TestAllIsAll(t *testing.T) {
	seen := map[string]bool{}
	var l Limits
	for i, x := range All() {
		if x.Name == "" || x.Default <= 0 || x.Bounds == "" || seen[x.Name] {
			t.Errorf("limit %d is %+v", i, x)
		}
		seen[x.Name] = true
		if err := l.Set(x.Name, fmt.Sprint(i+1)); err != nil {
			t.Error(err)
		}
		if *x.member(&l) != int64(i+1) {
			t.Errorf("%s does not set its own member", x.Name)
		}
		text := Over(x.Name, 123).Error()
		if !strings.Contains(text, "123") || !strings.Contains(text, "--limit "+x.Name+"=") {
			t.Errorf("the message of %s is %q", x.Name, text)
		}
	}
	v := reflect.ValueOf(l)
	for i := range v.NumField() {
		if v.Field(i).Int() == 0 {
			t.Errorf("%s is not in the list", v.Type().Field(i).Name)
		}
	}
}

func TestWithDefaults(t *testing.T) {
	l := Limits{Rows: -1, Columns: 7}.WithDefaults()
	if l.Rows != math.MaxInt64 || l.Columns != 7 || l.Expanded != 512<<20 {
		t.Errorf("%+v", l)
	}
	if l.WithDefaults() != l {
		t.Error("a second time changes it")
	}
}

func TestSet(t *testing.T) {
	var l Limits
	for text, want := range map[string]int64{"1": 1, "64KiB": 64 << 10, "3 MiB": 3 << 20, "2GiB": 2 << 30, "none": -1} {
		if err := l.Set("record", text); err != nil || l.Record != want {
			t.Errorf("%s: %d, %v", text, l.Record, err)
		}
	}
	for _, bad := range []string{"", "0", "-1", "1.5", "MiB", "1 TB", "9223372036854775807GiB", "99999999999999999999"} {
		if err := l.Set("record", bad); err == nil || !strings.Contains(err.Error(), "record=") {
			t.Errorf("%q: %v", bad, err)
		}
	}
	if err := l.Set("rows", "1MiB"); err == nil {
		t.Error("rows are counted in bytes")
	}
	if err := l.Set("Rows", "1"); err == nil || !strings.Contains(err.Error(), "rows") {
		t.Errorf("an unknown name: %v", err)
	}
}

func TestFigure(t *testing.T) {
	bytes, count := Limit{Bytes: true}, Limit{}
	for want, got := range map[string]string{
		"8 GiB": bytes.Figure(8 << 30), "1 MiB": bytes.Figure(1 << 20), "3 KiB": bytes.Figure(3 << 10),
		"1000 bytes": bytes.Figure(1000),
		"1048576":    count.Figure(1 << 20), "none": count.Figure(math.MaxInt64),
	} {
		if got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

func TestReadAll(t *testing.T) {
	for n := range 6 {
		b, err := ReadAll(iotest.OneByteReader(strings.NewReader("four"[:min(n, 4)]+"x"[:max(n-4, 0)])), "side", 4)
		if n <= 4 && (err != nil || len(b) != n) {
			t.Errorf("%d bytes: %d, %v", n, len(b), err)
		}
		if over := Of(err); n > 4 && (over == nil || over.Limit != "side" || over.Max != 4 || b != nil) {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
	broken := errors.New("broken")
	if _, err := ReadAll(io.MultiReader(strings.NewReader("four"), iotest.ErrReader(broken)), "side", 4); !errors.Is(err,
		broken) || Of(err) != nil {
		t.Errorf("a reader that breaks: %v", err)
	}
	if _, err := ReadAll(io.MultiReader(strings.NewReader("four"), stuck{}), "side", 4); !errors.Is(err,
		io.ErrNoProgress) {
		t.Errorf("a reader that gives nothing: %v", err)
	}
	if n, err := Reader(strings.NewReader("a"), "side", 0).Read(nil); n != 0 || err != nil {
		t.Errorf("no room: %d, %v", n, err)
	}
	if Of(broken) != nil || Of(nil) != nil {
		t.Error("a limit where there is none")
	}
	if got := (&Error{Limit: "other", Max: 5}).What(); !strings.Contains(got, "other") {
		t.Errorf("a limit of no name here: %q", got)
	}
}

type stuck struct{}

func (stuck) Read([]byte) (int, error) { return 0, nil }
