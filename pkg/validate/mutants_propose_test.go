//go:build mutants

package validate

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/findslip/findslip/pkg/testkit/cases"
)

// What stands here looks for a report with one difference to a case, of which something else is said where a rule has
// a fault that no case notices: members left out, put in from other cases, borders of figures and days.

// propose writes what it finds as edges of the cases (cases.Edge), by code, and returns the faults that are left.
func propose(t testing.TB, file, only string, list []*tried, left []fault) []fault {
	w := &workshop{t: t, pool: map[string][]any{}, found: map[string][]cases.Edge{}, left: left}
	for _, x := range list {
		w.gather("", tree(x.one.Report))
	}
	for _, x := range list {
		if regexp.MustCompile(only).MatchString(x.code) {
			w.work(x)
		}
	}
	raw, err := json.MarshalIndent(w.found, "", " ")
	if err == nil {
		err = os.WriteFile(file, raw, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	return w.left
}

type workshop struct {
	t     testing.TB
	pool  map[string][]any // values by path, indices as *
	found map[string][]cases.Edge
	left  []fault
	runs  int
}

func tree(raw []byte) any {
	var v any
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	if err := dec.Decode(&v); err != nil {
		panic(err)
	}
	return v
}

var indices = regexp.MustCompile(`/\d+(/|$)`)

func pattern(path string) string { return indices.ReplaceAllString(path, "/*$1") }

func (w *workshop) gather(path string, v any) {
	key := pattern(path)
	if list := w.pool[key]; len(list) < 16 && !slices.ContainsFunc(list, func(x any) bool { return reflect.DeepEqual(x, v) }) {
		w.pool[key] = append(list, v)
	}
	each(v, func(name string, inner any) { w.gather(path+"/"+name, inner) })
}

// each calls visit with the members of an object, or the entries of a list, in order.
func each(v any, visit func(name string, inner any)) {
	switch v := v.(type) {
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(v)) {
			visit(strings.NewReplacer("~", "~0", "/", "~1").Replace(name), v[name])
		}
	case []any:
		for i := range v {
			visit(strconv.Itoa(i), v[i])
		}
	}
}

// work tries the edges of one case as long as its rule has faults that nothing notices.
func (w *workshop) work(x *tried) {
	w.runs = 0
	report := tree(x.one.Report)
	paths := map[string]any{}
	var order []string
	var walk func(path string, v any)
	walk = func(path string, v any) {
		paths[path] = v
		order = append(order, path)
		each(v, func(name string, inner any) { walk(path+"/"+name, inner) })
	}
	walk("", report)
	for _, step := range []func(*tried, string, any){w.without, w.borders, w.others, w.more} {
		for _, path := range order {
			if w.runs > 2500 || !w.open(x.code) {
				return
			}
			step(x, path, paths[path])
		}
	}
}

// open reports whether a rule has faults left.
func (w *workshop) open(code string) bool {
	return slices.ContainsFunc(w.left, func(f fault) bool { return f.Code == code || f.Code == "" })
}

func op(kind, path string, value any) map[string]any {
	m := map[string]any{"op": kind, "path": path}
	if kind != "remove" {
		m["value"] = value
	}
	return m
}

func (w *workshop) without(x *tried, path string, v any) {
	if path != "" && path != "/findslip" && path != "/finds" {
		w.try(x, "without "+path, op("remove", path, nil))
	}
}

// others puts values of other cases in the place of one.
func (w *workshop) others(x *tried, path string, v any) {
	switch v.(type) {
	case map[string]any, []any:
		return
	}
	if strings.HasSuffix(path, "/id") {
		return
	}
	for _, other := range w.pool[pattern(path)] {
		if !reflect.DeepEqual(v, other) {
			w.try(x, fmt.Sprintf("%s %v", path, other), op("replace", path, other))
		}
	}
}

// more puts in members that other cases have, and entries once more.
func (w *workshop) more(x *tried, path string, v any) {
	switch v := v.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(w.pool)) {
			name, ok := strings.CutPrefix(key, pattern(path)+"/")
			if _, there := v[name]; !ok || there || strings.ContainsAny(name, "/*") {
				continue
			}
			for _, value := range w.pool[key][:min(6, len(w.pool[key]))] {
				w.try(x, "with "+path+"/"+name, op("add", path+"/"+name, value))
			}
		}
	case []any:
		for i, entry := range v {
			copied := tree(must(json.Marshal(entry)))
			if m, ok := copied.(map[string]any); ok && strings.Contains(fmt.Sprint(m["id"]), "urn:uuid:") {
				m["id"] = "urn:uuid:0190f3c2-5b7e-7a41-8c1d-0000000000aa"
			}
			w.try(x, fmt.Sprintf("%s/%d once more", path, i), op("add", path+"/-", copied))
		}
	}
}

func must(raw []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return raw
}

// borders moves a figure or a day until something else is said, and tries both sides of the border.
func (w *workshop) borders(x *tried, path string, v any) {
	var at int64
	var put func(n int64) []any
	var words func(n int64) string
	replace := func(value any) []any { return []any{op("replace", path, value)} }
	hundredth := func(n int64) json.Number { return json.Number(strconv.FormatFloat(float64(n)/100, 'f', -1, 64)) }
	switch v := v.(type) {
	case json.Number:
		f, _ := v.Float64()
		at = int64(math.Round(100 * f))
		put = func(n int64) []any { return replace(hundredth(n)) }
		words = func(n int64) string { return path + " " + string(hundredth(n)) }
	case string:
		day, err := time.Parse(time.DateOnly, v)
		if err != nil {
			return
		}
		at = day.Unix() / 86400
		date := func(n int64) string { return time.Unix(n*86400, 0).UTC().Format(time.DateOnly) }
		put = func(n int64) []any { return replace(date(n)) }
		words = func(n int64) string { return path + " " + date(n) }
	case map[string]any:
		low, isLow := v["min"].(json.Number)
		if _, isHigh := v["max"].(json.Number); !isLow || !isHigh {
			return
		}
		f, _ := low.Float64()
		at = int64(math.Round(100 * f))
		put = func(n int64) []any {
			changed := maps.Clone(v)
			changed["min"], changed["max"] = hundredth(n), hundredth(n)
			for _, name := range []string{"verbatim", "best", "said"} {
				delete(changed, name)
			}
			return replace(changed)
		}
		words = func(n int64) string { return path + " " + string(hundredth(n)) }
	default:
		return
	}
	said := map[int64]string{}
	ask := func(n int64) string {
		if _, ok := said[n]; !ok {
			said[n] = w.try(x, words(n), put(n)...)
		}
		return said[n]
	}
	for _, d := range []int64{0, 1, -1, 10, -10, 31, -31, 100, -100, 366, -366, 1000, -1000, 3000, -3000, 10000, -10000, 100000} {
		ask(at + d)
	}
	tried := slices.Sorted(maps.Keys(said))
	for i := range tried[1:] {
		low, high := tried[i], tried[i+1]
		for high-low > 1 && said[low] != said[high] {
			if mid := (low + high) / 2; ask(mid) == said[low] {
				low = mid
			} else {
				high = mid
			}
		}
	}
}

// try asks the rule about a report with a difference. Where faults left would be noticed by it, and all that is said
// of it is said of the case too or under the code of the rule, it is kept. It returns what is said by the rule.
func (w *workshop) try(x *tried, words string, ops ...any) string {
	w.runs++
	change := must(json.Marshal(ops))
	report, err := cases.Apply(x.one.Report, change)
	if err != nil {
		return "none"
	}
	y := &tried{code: x.code, one: x.one, judge: x.judge}
	y.one.Report = report
	y.look()
	if y.said == "panic" || !strings.Contains(y.said, "<nil>") {
		return y.said
	}
	kills := map[int]bool{}
	for _, f := range w.left {
		if y.passed[f.ID] && (f.Code == x.code || f.Code == "") {
			w.runs++
			if y.notices(f.ID) {
				kills[f.ID] = true
			}
		}
	}
	if len(kills) == 0 {
		return y.said
	}
	all, err := noticesBy(judgeOf(w.t, y.one), report)
	for _, n := range all {
		if n.Code != x.code && !slices.Contains(x.one.Notices, n) {
			return y.said
		}
	}
	if err != nil {
		return y.said
	}
	if all == nil {
		all = []cases.Notice{}
	}
	of := "near/"
	if slices.ContainsFunc(x.one.Notices, func(n cases.Notice) bool { return n.Code == x.code }) {
		of = "draws/"
	}
	w.found[x.code] = append(w.found[x.code], cases.Edge{Of: of + x.one.Name, Words: words, Change: change, Notices: all})
	w.left = slices.DeleteFunc(w.left, func(f fault) bool { return kills[f.ID] })
	return y.said
}
