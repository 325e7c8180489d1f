package suite

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"image"
	_ "image/jpeg" // pictures of the suite are of these two formats
	_ "image/png"
	"maps"
	"math"
	"math/big"
	"reflect"
	"slices"
	"strings"
)

// Judge compares what an implementation answered with what is expected, and returns one line for
// each difference. Answers are those of all the steps, the last one last.
func (v *Vector) Judge(answers []Answer) []string {
	if len(answers) == 0 {
		return []string{"there is no answer"}
	}
	e, last := v.Expect, answers[len(answers)-1]
	if e.Refused {
		return e.refusal(last)
	}
	if last.Refused != nil {
		return []string{fmt.Sprintf("it is refused: %s %s", last.Refused.Code, last.Refused.Message)}
	}
	output, err := last.Output.Bytes()
	if err != nil {
		return []string{fmt.Sprintf("the output is no base64: %v", err)}
	}
	return append(e.output(output), e.notices(answers)...)
}

// refusal compares a refusal with what is expected of it.
func (e *Expect) refusal(last Answer) (wrong []string) {
	fail := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	switch {
	case last.Refused == nil:
		fail("it is not refused")
	case e.Code != "" && e.Code != last.Refused.Code:
		fail("it is refused as %q, not as %s", last.Refused.Code, e.Code)
	case strings.TrimSpace(last.Refused.Message) == "":
		fail("it is refused without a word")
	}
	if last.Output != nil && last.Refused != nil {
		fail("it is refused, and something is put out all the same")
	}
	for _, part := range e.Lacks {
		if last.Refused != nil && strings.Contains(last.Refused.Message, part) {
			fail("the words of the refusal have %q", part)
		}
	}
	return wrong
}

// output compares what was put out by the last step.
func (e *Expect) output(output []byte) (wrong []string) {
	fail := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	if e.Value != nil {
		wrong = append(wrong, values(e.Value, output, e.Within)...)
	}
	for _, pointer := range slices.Sorted(maps.Keys(e.Members)) {
		got, ok := Raw(output, pointer)
		if !ok {
			fail("there is nothing at %s", pointer)
		} else if !equal(e.Members[pointer], got) {
			fail("at %s stands %s, not %s", pointer, short(got), short(e.Members[pointer]))
		}
	}
	for _, pointer := range e.Missing {
		if got, ok := Raw(output, pointer); ok {
			fail("at %s stands %s, and nothing is to stand there", pointer, short(got))
		}
	}
	if len(e.Missing) > 0 && !json.Valid(output) {
		fail("the output is no JSON")
	}
	if e.Text != nil && *e.Text != string(output) {
		fail("the text is not to the letter as expected: %s", firstDifference(*e.Text, string(output)))
	}
	for _, part := range e.Contains {
		if !bytes.Contains(output, []byte(part)) {
			fail("the output does not have %q", part)
		}
	}
	for _, part := range e.Lacks {
		if bytes.Contains(output, []byte(part)) {
			fail("the output has %q", part)
		}
	}
	if len(e.Lacks) > 0 && len(output) == 0 {
		fail("there is no output")
	}
	if e.Picture != nil {
		wrong = append(wrong, e.Picture.wrong(output)...)
	}
	return wrong
}

// notices compares what was said in all the steps.
func (e *Expect) notices(answers []Answer) []string {
	var wrong []string
	said := map[string]bool{}
	got := []Notice{}
	for _, a := range answers {
		for _, n := range a.Notices {
			said[n.Code] = true
			got = append(got, n)
		}
	}
	if e.Notices != nil {
		want := slices.Clone(*e.Notices)
		order := func(a, b Notice) int { return cmp.Or(cmp.Compare(a.Pointer, b.Pointer), cmp.Compare(a.Code, b.Code)) }
		slices.SortFunc(want, order)
		slices.SortFunc(got, order)
		for _, n := range want {
			if !slices.Contains(got, n) {
				wrong = append(wrong, fmt.Sprintf("%s is not said at %q", n.Code, n.Pointer))
			}
		}
		for _, n := range got {
			if !slices.Contains(want, n) {
				wrong = append(wrong, fmt.Sprintf("%s is said at %q", n.Code, n.Pointer))
			}
		}
		if len(wrong) == 0 && len(want) != len(got) {
			wrong = append(wrong, fmt.Sprintf("%d notices, not %d", len(got), len(want)))
		}
	}
	for _, code := range e.Says {
		if !said[code] {
			wrong = append(wrong, code+" is not said")
		}
	}
	for _, code := range e.Silent {
		if said[code] {
			wrong = append(wrong, code+" is said")
		}
	}
	rest := answers[len(answers)-1].Notices
	for _, n := range e.Ordered {
		i := slices.Index(rest, n)
		if i < 0 {
			wrong = append(wrong, fmt.Sprintf("%s at %q is not said, or out of order", n.Code, n.Pointer))
			break
		}
		rest = rest[i+1:]
	}
	return append(wrong, e.losses(answers)...)
}

// losses compares what was said not to fit.
func (e *Expect) losses(answers []Answer) []string {
	var wrong, lost []string
	for _, a := range answers {
		lost = append(lost, a.Lost...)
	}
	for _, member := range e.Lost {
		if !slices.Contains(lost, member) {
			wrong = append(wrong, fmt.Sprintf("it is not said that %s does not fit", member))
		}
	}
	if e.Whole && len(lost) > 0 {
		wrong = append(wrong, fmt.Sprintf("%s is said not to fit", strings.Join(lost, ", ")))
	}
	return wrong
}

// values compares two objects member by member; a position may be off by some metres.
func values(want, got json.RawMessage, within float64) []string {
	var a, b map[string]json.RawMessage
	if json.Unmarshal(want, &a) != nil || json.Unmarshal(got, &b) != nil {
		if equal(want, got) {
			return nil
		}
		return []string{fmt.Sprintf("%s, not %s", short(got), short(want))}
	}
	var wrong []string
	if within > 0 {
		if d, ok := distance(a, b); !ok || !(d <= within) {
			wrong = append(wrong, fmt.Sprintf("the position is %.3f m off, and %g m are allowed", d, within))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(a)) {
		switch {
		case within > 0 && (name == "latitude" || name == "longitude"):
		case b[name] == nil:
			wrong = append(wrong, name+" is missing")
		case !equal(a[name], b[name]):
			wrong = append(wrong, fmt.Sprintf("%s is %s, not %s", name, short(b[name]), short(a[name])))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(b)) {
		if a[name] == nil {
			wrong = append(wrong, fmt.Sprintf("%s is %s, and was not to be", name, short(b[name])))
		}
	}
	return wrong
}

// distance is that between two positions in metres on a sphere, good enough for a few metres.
func distance(a, b map[string]json.RawMessage) (float64, bool) {
	var v [4]float64
	for i, from := range []map[string]json.RawMessage{a, b} {
		for j, name := range []string{"latitude", "longitude"} {
			if json.Unmarshal(from[name], &v[2*i+j]) != nil {
				return 0, false
			}
		}
	}
	const degree = 111320 // metres of a degree of latitude, the largest on WGS 84 being 111694
	return degree * math.Hypot(v[0]-v[2], (v[1]-v[3])*math.Cos(v[0]*math.Pi/180)), true
}

// equal compares two JSON values; numbers count by what they are worth, not by how they are written.
func equal(a, b json.RawMessage) bool {
	x, okX := decode(a)
	y, okY := decode(b)
	return okX && okY && reflect.DeepEqual(x, y)
}

func decode(raw json.RawMessage) (any, bool) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var v any
	if dec.Decode(&v) != nil {
		return nil, false
	}
	return settle(v), true
}

func settle(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for name := range v {
			v[name] = settle(v[name])
		}
	case []any:
		for i := range v {
			v[i] = settle(v[i])
		}
	case json.Number:
		if len(v) < 40 && !strings.ContainsAny(string(v), "eE") {
			if r, ok := new(big.Rat).SetString(string(v)); ok {
				return "number " + r.RatString()
			}
		}
		f, _ := v.Float64()
		return f
	}
	return v
}

func short(raw json.RawMessage) string {
	text := []rune(string(bytes.TrimSpace(raw)))
	if len(text) == 0 {
		return "nothing"
	}
	if len(text) > 80 {
		return string(text[:77]) + "..."
	}
	return string(text)
}

func firstDifference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range max(len(w), len(g)) {
		a, b := "", ""
		if i < len(w) {
			a = w[i]
		}
		if i < len(g) {
			b = g[i]
		}
		if a != b || i >= len(w) || i >= len(g) {
			return fmt.Sprintf("line %d is %q, not %q", i+1, b, a)
		}
	}
	return "no line differs"
}

// A Picture is what a picture shows.
type Picture struct {
	Width   int       `json:"width"`
	Height  int       `json:"height"`
	Corners [4]string `json:"corners"` // red, green, blue or white: top left, top right, bottom left, bottom right
}

// wrong says how a picture differs from what it is to show.
func (p *Picture) wrong(text []byte) []string {
	img, _, err := image.Decode(bytes.NewReader(text))
	if err != nil {
		return []string{"the output is no picture in JPEG or PNG"}
	}
	b := img.Bounds()
	if b.Dx() != p.Width || b.Dy() != p.Height {
		return []string{fmt.Sprintf("the picture is %d wide and %d high, not %d and %d", b.Dx(), b.Dy(), p.Width, p.Height)}
	}
	var wrong []string
	for i, want := range p.Corners {
		x, y := b.Min.X+b.Dx()/4, b.Min.Y+b.Dy()/4 // in the middle of a quarter
		if i%2 == 1 {
			x += b.Dx() / 2
		}
		if i >= 2 {
			y += b.Dy() / 2
		}
		if got := colourOf(img, x, y); got != want {
			wrong = append(wrong, fmt.Sprintf("corner %d of the picture is %s, not %s", i+1, got, want))
		}
	}
	return wrong
}

// colourOf names the colour of a point.
func colourOf(img image.Image, x, y int) string {
	r, g, b, _ := img.At(x, y).RGBA()
	const half = 0x8000
	switch {
	case r > half && g > half && b > half:
		return "white"
	case r > half && g < half && b < half:
		return "red"
	case r < half && g > half && b < half:
		return "green"
	case r < half && g < half && b > half:
		return "blue"
	}
	return "another"
}
