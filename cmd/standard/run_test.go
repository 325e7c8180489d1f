package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/findslip/findslip/cmd/internal/suite"
)

// TestMain lets the test program itself be an implementation, of the kind that a variable names.
func TestMain(m *testing.M) {
	if kind := os.Getenv("FINDSLIP_TEST_STRANGER"); kind != "" {
		stranger(kind)
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// stranger answers as an implementation that is wrong in one way.
func stranger(kind string) {
	if kind == "mute" {
		return
	}
	lines := bufio.NewScanner(os.Stdin)
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		var h suite.Hand
		if err := json.Unmarshal(lines.Bytes(), &h); err != nil {
			os.Exit(3)
		}
		a := suite.Answer{ID: h.ID}
		switch {
		case h.Operation == "describe":
			protocol := "1"
			if kind == "later" {
				protocol = "2"
			}
			if kind == "piece" || kind == "silent" {
				a.Output = &suite.Content{JSON: json.RawMessage(`{"implementation":"piece","version":"1","protocol":"1",` +
					`"operations":["validate"],"claims":{"codes":["interval-reversed"],"formats":["findslip"]}}`)}
				break
			}
			a.Output = &suite.Content{JSON: json.RawMessage(fmt.Sprintf(`{"implementation":"stranger","version":"0",`+
				`"protocol":%q,"operations":["read","schema"]}`, protocol))}
		case h.Operation == "validate": // one rule, by a program that knows no other; or silence
			a.Output = &suite.Content{JSON: json.RawMessage(`{}`)}
			if kind == "piece" {
				a.Notices = oneRule(h.Input)
			}
		case kind == "wrong" && h.Operation == "schema":
			a.Output = &suite.Content{JSON: json.RawMessage(`{"valid":true}`)} // whatever it is given
		case kind == "wrong":
			a.Output = &suite.Content{JSON: json.RawMessage(`{"min":1,"max":1,"unit":"cm"}`)}
		case kind == "babble":
			fmt.Println("hello")
			continue
		case kind == "crash", kind == "fragile" && h.ID[len(h.ID)-1]%2 == 1:
			os.Exit(3)
		case kind == "slow":
			time.Sleep(time.Hour)
		case kind == "muddled":
			a.ID = "another"
		case kind == "modest", kind == "fragile":
			a.Unsupported = "reading"
		}
		text, err := json.Marshal(a)
		if err != nil {
			os.Exit(4)
		}
		fmt.Printf("%s\n", text)
	}
}

// oneRule gives the notices of interval-reversed alone: a rule of a few lines, as a stranger would write it.
func oneRule(in *suite.Content) (list []suite.Notice) {
	var report any
	raw, err := in.Bytes()
	if err != nil || json.Unmarshal(raw, &report) != nil {
		return nil
	}
	var walk func(at string, v any)
	walk = func(at string, v any) {
		switch v := v.(type) {
		case []any:
			for i := range v {
				walk(fmt.Sprintf("%s/%d", at, i), v[i])
			}
		case map[string]any:
			low, isLow := v["min"].(float64)
			high, isHigh := v["max"].(float64)
			best, isBest := v["best"].(float64)
			switch {
			case isLow && isHigh && low > high:
				list = append(list, suite.Notice{Code: "interval-reversed", Pointer: at})
			case isBest && (isLow && best < low || isHigh && best > high):
				list = append(list, suite.Notice{Code: "interval-reversed", Pointer: at + "/best"})
			}
			from, _ := v["validFrom"].(string)
			if to, ended := v["validTo"].(string); ended && to < from {
				list = append(list, suite.Notice{Code: "interval-reversed", Pointer: at + "/validTo"})
			}
			date, _ := v["date"].(string)
			if first, last, ok := strings.Cut(date, "/"); ok && strings.HasSuffix(at, "/found") && first > last {
				list = append(list, suite.Notice{Code: "interval-reversed", Pointer: at + "/date"})
			}
			for name, inner := range v {
				walk(at+"/"+name, inner)
			}
		}
	}
	walk("", report)
	return append(list, suite.Notice{Code: "of-its-own", Pointer: ""}) // what is not claimed is not looked at
}

// A vector with words of a language that is not claimed is left out, in the required readings too.
func TestClaimToOneLanguage(t *testing.T) {
	list, err := suite.Load(os.DirFS(filepath.Join("..", "..")))
	if err != nil {
		t.Fatal(err)
	}
	asked, left := 0, 0
	for _, v := range list {
		if v.Class != "length" {
			continue
		}
		if lacks := (&suite.Claims{Languages: []string{"en"}}).Lacks(v); lacks == "" {
			asked++
		} else if strings.HasPrefix(lacks, "the language ") {
			left++
		}
	}
	if asked < 300 || left < 300 {
		t.Errorf("of the lengths %d are asked of a reader of English, %d are not", asked, left)
	}
}

// A claim by the piece: one rule that is done counts as met, silence does not, and the claim file comes out again.
func TestClaims(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	do := func(kind string, args ...string) (int, string) {
		t.Setenv("FINDSLIP_TEST_STRANGER", kind)
		var out, talk bytes.Buffer
		all := append([]string{"suite", "-root", filepath.Join("..", ".."), "-target", "validator"}, args...)
		status := run(context.Background(), append(all, "--", self), &out, &talk)
		return status, out.String() + talk.String()
	}
	file := filepath.Join(t.TempDir(), "claim.json")
	badge := filepath.Join(t.TempDir(), "badge.svg")
	status, said := do("piece", "-badge", badge)
	if status != 0 || !strings.Contains(said, "interval-reversed              met           1.00    1.00") ||
		strings.Contains(said, "of-its-own") {
		t.Errorf("one rule: status %d\n%s", status, said)
	}
	if svg, err := os.ReadFile(badge); err != nil || !strings.Contains(string(svg), "claimed vectors</text>") {
		t.Errorf("the badge: %s %v", svg, err)
	}
	status, said = do("silent")
	if status != 1 || !strings.Contains(said, "interval-reversed              not met          -    0.00") {
		t.Errorf("silence: status %d\n%s", status, said)
	}
	_, claim := do("piece", "-json")
	if err := os.WriteFile(file, []byte(claim), 0o600); err != nil {
		t.Fatal(err)
	}
	if status, said := do("piece", "-against", file); status != 0 || !strings.Contains(said,
		"everything comes out as claimed") {
		t.Errorf("again: status %d\n%s", status, said)
	}
	if status, said := do("silent", "-against", file); status != 1 || !strings.Contains(said,
		"code interval-reversed: claimed as met, and it is not met") {
		t.Errorf("by another: status %d\n%s", status, said)
	}
}

// A run of some vectors asks for no code that none of them is about.
func TestClaimedCodesOfAPart(t *testing.T) {
	about := func(code string) *suite.Vector {
		return &suite.Vector{Folder: "required", Target: "validator", Expect: suite.Expect{Says: []string{code}}}
	}
	for _, c := range []struct {
		vector *suite.Vector
		said   []suite.Notice
		met    bool
	}{
		{&suite.Vector{Folder: "required", Target: "simple"}, nil, true},
		{about("other"), nil, true},
		{about("claimed"), nil, false},
		{about("claimed"), []suite.Notice{{Code: "claimed"}}, true},
	} {
		sum := newSummary(claim{Claims: &suite.Claims{Codes: []string{"claimed"}}})
		sum.add(c.vector, trial{said: c.said})
		if sum.met() != c.met {
			t.Errorf("%+v said %v: met is %v", c.vector, c.said, sum.met())
		}
	}
}

func TestStrangers(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		kind   string
		args   []string
		status int
		says   string
	}{
		{"wrong", []string{"-target", "document"}, 1, "not met"},
		{"wrong", []string{"-target", "normaliser", "-json"}, 1, `"met": false`},
		{"crash", []string{"-target", "document"}, 1, "ended without an answer"},
		{"crash", []string{"-target", "document"}, 1, "not tried: the implementation failed to answer 25 times"},
		{"fragile", []string{"-target", "document"}, 1, "ended without an answer"},
		{"fragile", []string{"-target", "document"}, 1, "not supported: reading"}, // it is started anew
		{"slow", []string{"-vector", "ql-001", "-patience", "2s"}, 1, "no answer within"},
		{"muddled", []string{"-target", "document"}, 1, `the answer is to "another"`},
		{"babble", []string{"-target", "document"}, 1, "not as the protocol has it"},
		{"mute", nil, 2, "standard suite:"},
		{"later", nil, 2, `speaks protocol "2"`},
		{"modest", []string{"-target", "document"}, 1, "not claimed"},
	} {
		t.Run(c.kind, func(t *testing.T) {
			t.Setenv("FINDSLIP_TEST_STRANGER", c.kind)
			var out, talk bytes.Buffer
			args := append([]string{"suite", "-root", filepath.Join("..", "..")}, c.args...)
			status := run(context.Background(), append(args, "--", self), &out, &talk)
			if said := out.String() + talk.String(); status != c.status || !strings.Contains(said, c.says) {
				t.Errorf("status %d, want %d; %q is not in:\n%s", status, c.status, c.says, said)
			}
		})
	}
}

func TestUsage(t *testing.T) {
	var out, talk bytes.Buffer
	if status := run(context.Background(), []string{"suite", "--help"}, &out, &talk); status != 0 ||
		!strings.Contains(talk.String(), `"operation": "describe"`) {
		t.Errorf("help: status %d, %q", status, talk.String())
	}
	for _, args := range [][]string{nil, {"x"}, {"suite"}, {"suite", "-folder", "none", "--", "x"}, {"suite", "-nothing"},
		{"suite", "-root", filepath.Join("..", ".."), "--", "no-such-command-anywhere"}} {
		var out, talk bytes.Buffer
		if status := run(context.Background(), args, &out, &talk); status != 2 || talk.Len() == 0 {
			t.Errorf("%q: status %d, %q", args, status, talk.String())
		}
	}
}
