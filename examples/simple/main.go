// Command simple writes Findslip Simple (schema/spec/simple.md) with nothing but the standard library.
//
//	go run . prints a report with two finds; go run . conformance answers the conformance suite.
package main

import (
	"bufio"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"time"
)

// Answers are what somebody filled into a form; empty texts and nil say nothing.
type Answers struct {
	ID          string   `json:"id"`
	Number      string   `json:"number"`
	Finder      string   `json:"finder"`
	Day         string   `json:"day"`
	Place       string   `json:"place"`
	Longitude   *float64 `json:"longitude"`
	Latitude    *float64 `json:"latitude"`
	Uncertainty *float64 `json:"uncertainty"`
	Depth       string   `json:"depth"`
	Name        string   `json:"name"`
	Material    string   `json:"material"`
	Weight      string   `json:"weight"`
	Picture     string   `json:"picture"`
	Notes       string   `json:"notes"`
	NotMeasured []string `json:"notMeasured"`
}

// The members of the format, in its order.
type (
	report struct {
		Findslip string   `json:"findslip"`
		People   []person `json:"people,omitempty"`
		Finds    []find   `json:"finds"`
	}
	person struct {
		ID     string `json:"id"`
		Handle string `json:"handle"`
	}
	words struct {
		Verbatim string `json:"verbatim"`
	}
	day struct {
		Date string `json:"date"`
	}
	place struct {
		Name string `json:"name"`
	}
	picture struct {
		File string `json:"file"`
	}
	position struct {
		Longitude   float64 `json:"longitude"`
		Latitude    float64 `json:"latitude"`
		Uncertainty float64 `json:"uncertainty"`
	}
	find struct {
		ID        string            `json:"id"`
		Number    string            `json:"number,omitempty"`
		Finder    string            `json:"finder,omitempty"`
		Found     *day              `json:"found,omitempty"`
		Place     *place            `json:"place,omitempty"`
		Position  *position         `json:"position,omitempty"`
		Depth     *words            `json:"depth,omitempty"`
		Name      string            `json:"name,omitempty"`
		Materials []words           `json:"materials,omitempty"`
		Weight    *words            `json:"weight,omitempty"`
		Media     []picture         `json:"media,omitempty"`
		Notes     string            `json:"notes,omitempty"`
		Absent    map[string]string `json:"absent,omitempty"`
	}
)

func newID() string {
	var b [16]byte
	rand.Read(b[:])
	b[6], b[8] = b[6]&0x0f|0x40, b[8]&0x3f|0x80 // version 4 of RFC 9562
	return fmt.Sprintf("urn:uuid:%x-%x-%x-%x-%x", b[:4], b[4:6], b[6:8], b[8:10], b[10:])
}

var urn = regexp.MustCompile(`^urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$`)

func findOf(a Answers, finders []string) (find, error) {
	out := find{ID: a.ID, Number: a.Number, Name: a.Name, Notes: a.Notes}
	if a.ID == "" {
		out.ID = newID()
	}
	if !urn.MatchString(out.ID) {
		return out, errors.New("an id is urn:uuid: and a UUID in small letters")
	}
	if a.Number == "" && a.Name == "" {
		return out, errors.New("a find needs a number or a name")
	}
	if a.Finder != "" {
		out.Finder = fmt.Sprintf("person-%d", slices.Index(finders, a.Finder)+1)
	}
	if a.Day != "" {
		if _, err := time.Parse(time.DateOnly, a.Day); err != nil {
			return out, errors.New("the day is no day of the calendar")
		}
		out.Found = &day{a.Day}
	}
	switch given := []bool{a.Longitude != nil, a.Latitude != nil, a.Uncertainty != nil}; {
	case !slices.Contains(given, false):
		if p := (position{*a.Longitude, *a.Latitude, *a.Uncertainty}); p.Longitude >= -180 && p.Longitude <= 180 &&
			p.Latitude >= -90 && p.Latitude <= 90 && p.Uncertainty > 0 {
			out.Position = &p
			break
		}
		return out, errors.New("longitude and latitude are degrees, and the radius is above zero")
	case slices.Contains(given, true):
		return out, errors.New("a position is a longitude, a latitude and the radius that holds the spot")
	}
	if a.Place != "" {
		out.Place = &place{a.Place}
	}
	if a.Material != "" {
		out.Materials = []words{{a.Material}}
	}
	if strings.ContainsAny(a.Picture, `/\`) {
		return out, errors.New("a picture lies beside the report: its name has no folder")
	}
	if a.Picture != "" {
		out.Media = []picture{{a.Picture}}
	}
	for _, w := range []struct {
		name, text string
		to         **words
	}{{"depth", a.Depth, &out.Depth}, {"weight", a.Weight, &out.Weight}} {
		if w.text != "" {
			*w.to = &words{w.text}
		} else if slices.Contains(a.NotMeasured, w.name) {
			if out.Absent == nil {
				out.Absent = map[string]string{}
			}
			out.Absent["/"+w.name] = "not-measured"
		}
	}
	return out, nil
}

func reportOf(list []Answers) (*report, error) {
	out := &report{Findslip: "1.0", Finds: []find{}}
	var finders []string // in the order of their first find
	for _, a := range list {
		if a.Finder != "" && !slices.Contains(finders, a.Finder) {
			finders = append(finders, a.Finder)
			out.People = append(out.People, person{fmt.Sprintf("person-%d", len(finders)), a.Finder})
		}
		f, err := findOf(a, finders)
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(out.Finds, func(other find) bool { return other.ID == f.ID }) {
			return nil, errors.New("two finds have one id")
		}
		out.Finds = append(out.Finds, f)
	}
	return out, nil
}

func number(v float64) *float64 { return &v }

var sample = []Answers{
	{ID: "urn:uuid:b81d36df-7004-57a4-82e9-d934f7bad5d3", Number: "12a", Finder: "finder-a", Day: "2026-04-12",
		Place:     "Long Furlong",
		Longitude: number(-1.2248), Latitude: number(52.50655), Uncertainty: number(5), Depth: "7-9 in", Name: "crotal bell",
		Material: "green metal", Picture: "12a.jpg", NotMeasured: []string{"weight"}},
	{ID: "urn:uuid:0d9f6a5e-3c1b-4f7a-9e52-6b8d1c4a7f30", Number: "13", Finder: "finder-a", Day: "2026-04-12",
		Place: "Long Furlong",
		Depth: "more than a foot", Name: "lead token", Weight: "6.25 g"},
}

func main() {
	if err := run(os.Args[1:], os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
}

func run(args []string, in io.Reader, out io.Writer) error {
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	if len(args) == 1 && args[0] == "conformance" {
		return conformance(in, enc)
	}
	r, err := reportOf(sample)
	if err != nil {
		return err
	}
	enc.SetIndent("", "  ")
	return enc.Encode(r)
}

func conformance(in io.Reader, enc *json.Encoder) error {
	lines := bufio.NewScanner(in)
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		var request struct {
			ID, Operation string
			Input         struct {
				JSON json.RawMessage
				Text string
			}
		}
		if err := json.Unmarshal(lines.Bytes(), &request); err != nil {
			return err
		}
		answer := map[string]any{"id": request.ID}
		switch request.Operation {
		case "describe":
			answer["output"] = map[string]any{"json": map[string]any{"implementation": "simple.go", "version": "1",
				"protocol": "1", "operations": []string{"simple"}}}
		case "simple":
			var list []Answers
			content := request.Input.JSON
			if len(content) == 0 {
				content = []byte(request.Input.Text)
			}
			err := json.Unmarshal(content, &list)
			var r *report
			if err == nil {
				r, err = reportOf(list)
			}
			if err != nil {
				answer["refused"] = map[string]string{"code": "", "message": err.Error()}
			} else {
				answer["output"] = map[string]any{"json": r}
			}
		default:
			answer["unsupported"] = "the operation " + request.Operation
		}
		if err := enc.Encode(answer); err != nil {
			return err
		}
	}
	return lines.Err()
}
