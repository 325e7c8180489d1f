package main

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/find"
)

// A score counts, for one code of a notice, how often it was given rightly, wrongly and not at all.
type score struct {
	Code    string `json:"code"`
	Verdict string `json:"verdict"` // met, not met
	// of what was given the part that was right; missing: nothing was given
	Precision *float64 `json:"precision,omitempty"`
	// of what was to be given the part that was; missing: nothing was to be
	Recall *float64 `json:"recall,omitempty"`
	Right  int      `json:"right"`
	Extra  int      `json:"extra"`
	Missed int      `json:"missed"`
}

// scores are those of all codes, by code.
type scores map[string]*score

func (s scores) of(code string) *score {
	if s[code] == nil {
		s[code] = &score{Code: code}
	}
	return s[code]
}

// count adds what one vector tells. Only vectors that name all notices, or codes that are said or not, tell something.
func (s scores) count(v *suite.Vector, r trial, claims *suite.Claims) {
	claimed := func(code string) bool {
		return claims == nil || len(claims.Codes) == 0 || slices.Contains(claims.Codes, code)
	}
	said := map[suite.Notice]bool{}
	for _, n := range r.said {
		said[n] = true
		said[suite.Notice{Code: n.Code}] = true // wherever
	}
	tell := func(n suite.Notice, right bool) {
		switch {
		case !claimed(n.Code):
		case right && said[n]:
			s.of(n.Code).Right++
		case right:
			s.of(n.Code).Missed++
		case said[n]:
			s.of(n.Code).Extra++
		}
	}
	for _, code := range v.Expect.Says {
		tell(suite.Notice{Code: code}, true)
	}
	for _, code := range v.Expect.Silent {
		tell(suite.Notice{Code: code}, false)
	}
	if v.Expect.Notices != nil {
		for _, n := range *v.Expect.Notices {
			tell(n, true)
		}
		for _, n := range r.said {
			if !slices.Contains(*v.Expect.Notices, n) {
				tell(n, false)
			}
		}
	}
}

// list returns the scores in the order of the codes, with their figures. Silence earns nothing: a code that is
// never given where it is to be given is not met.
func (s scores) list(claims *suite.Claims) []score {
	if claims != nil {
		for _, code := range claims.Codes {
			s.of(code)
		}
	}
	out := []score{}
	for _, code := range slices.Sorted(maps.Keys(s)) {
		x := *s[code]
		part := func(of int) *float64 {
			if of == 0 {
				return nil
			}
			f := float64(x.Right) / float64(of)
			return &f
		}
		x.Precision, x.Recall = part(x.Right+x.Extra), part(x.Right+x.Missed)
		x.Verdict = "not met"
		if x.Right > 0 && x.Extra == 0 && x.Missed == 0 {
			x.Verdict = "met"
		}
		out = append(out, x)
	}
	return out
}

// met reports whether each code that is claimed by name is met.
func (s scores) met(claims *suite.Claims) bool {
	if claims == nil {
		return true
	}
	for _, x := range s.list(claims) {
		if x.Verdict != "met" && slices.Contains(claims.Codes, x.Code) {
			return false
		}
	}
	return true
}

func (s scores) text() string {
	var b strings.Builder
	b.WriteString("\n\ncode                           verdict  precision  recall  right  extra  missed\n")
	figure := func(f *float64) string {
		if f == nil {
			return "-"
		}
		return fmt.Sprintf("%.2f", *f)
	}
	for _, x := range s.list(nil) {
		fmt.Fprintf(&b, "%-30s %-8s %9s %7s %6d %6d %7d\n", x.Code, x.Verdict, figure(x.Precision), figure(x.Recall), x.Right,
			x.Extra, x.Missed)
	}
	return b.String()
}

// A claimFile is what an implementation met, so that whoever receives it can run it again without a network, and two
// implementations can be compared.
type claimFile struct {
	Form     string    `json:"findslipClaim"` // version of this form
	Standard string    `json:"standard"`
	Suite    string    `json:"suite"` // digest of the vectors
	Claim    claim     `json:"claim"`
	Met      bool      `json:"met"`
	Outcomes []outcome `json:"outcomes"`
	Codes    []score   `json:"codes"`
	Faults   []fault   `json:"faults"`
}

func (s *summary) file(digest string) claimFile {
	return claimFile{"1", find.Version, digest, s.claim, s.met(), s.outcomes(), s.codes.list(s.asked()),
		append([]fault{}, s.faults...)}
}

// against compares a claim with what came out now, and returns a line for each piece that did not come out as claimed.
func (f claimFile) against(now claimFile) []string {
	var lines []string
	if f.Suite != now.Suite {
		lines = append(lines, "the suite is another one: the claim was made with "+f.Suite+", this is "+now.Suite)
	}
	if f.Claim.Implementation != now.Claim.Implementation || f.Claim.Version != now.Claim.Version {
		lines = append(lines, fmt.Sprintf("the implementation is %s %s; the claim is of %s %s", now.Claim.Implementation,
			now.Claim.Version, f.Claim.Implementation, f.Claim.Version))
	}
	verdicts := map[string]string{}
	for _, o := range now.Outcomes {
		verdicts[strings.Join([]string{o.Folder, o.Target, o.Class}, " ")] = o.Verdict
	}
	for _, x := range now.Codes {
		verdicts["code "+x.Code] = x.Verdict
	}
	compare := func(name, claimed string) {
		if got := verdicts[name]; got != claimed {
			if got == "" {
				got = "not asked"
			}
			lines = append(lines, fmt.Sprintf("%s: claimed as %s, and it is %s", strings.TrimSpace(name), claimed, got))
		}
	}
	for _, o := range f.Outcomes {
		compare(strings.Join([]string{o.Folder, o.Target, o.Class}, " "), o.Verdict)
	}
	for _, x := range f.Codes {
		compare("code "+x.Code, x.Verdict)
	}
	return lines
}

// badge is a picture that says how many required vectors of how many that are claimed came out right.
func (s *summary) badge() string {
	var right, all int
	for _, classes := range s.tallies["required"] {
		t := sum(classes)
		right += t.Right
		all += t.Right + t.Wrong + t.Unsupported
	}
	colour := "#1d4f2b"
	if !s.met() {
		colour = "#8a1c1c"
	}
	label, said := "Findslip "+find.Version, fmt.Sprintf("%d of %d claimed vectors", right, all)
	left, wide := 7*len(label)+10, 7*len(said)+10
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="20" role="img" aria-label="%s: %s"><rect width="%d" height="20" fill="#444"/><rect x="%d" width="%d" height="20" fill="%s"/><g fill="#fff" font-family="Verdana,sans-serif" font-size="11" text-anchor="middle"><text x="%d" y="14">%s</text><text x="%d" y="14">%s</text></g></svg>
`, left+wide, label, said, left, left, wide, colour, left/2, label, left+wide/2, said)
}

// suiteDigest is the SHA-256 of the vectors and of the reports that they name, in the order of their paths.
func suiteDigest(project fs.FS) (string, error) {
	sum := sha256.New()
	for _, folder := range []string{"testdata/codes", "testdata/suite", "testdata/valid"} {
		if err := fs.WalkDir(project, folder, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(name, ".json") {
				return err
			}
			raw, err := fs.ReadFile(project, name)
			fmt.Fprintf(sum, "%s %d\n%s", name, len(raw), raw)
			return err
		}); err != nil {
			return "", err
		}
	}
	return fmt.Sprintf("sha256:%x", sum.Sum(nil)), nil
}

// readErrata reads why vectors are withdrawn, by their id.
func readErrata(project fs.FS) (map[string]string, error) {
	raw, err := fs.ReadFile(project, "testdata/suite/errata.json")
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var list []struct{ Vector, Reason string }
	if err := json.Unmarshal(raw, &list); err != nil {
		return nil, fmt.Errorf("testdata/suite/errata.json: %w", err)
	}
	out := map[string]string{}
	for _, x := range list {
		out[x.Vector] = x.Reason
	}
	return out, nil
}

// readClaim reads a claim file.
func readClaim(name string) (*claimFile, error) {
	raw, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	f := new(claimFile)
	if err := json.Unmarshal(raw, f); err != nil || f.Form != "1" {
		return nil, fmt.Errorf("%s is no claim file of form 1: %w", name,
			errors.Join(err, errors.New("findslipClaim is "+fmt.Sprint(f.Form))))
	}
	return f, nil
}
