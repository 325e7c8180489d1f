package spreadsheet

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/aside"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Settings are what the keeper of a log states once for all of it: how it is to be read, and what its columns do
// not say. A cell or a heading that says something itself wins.
type Settings struct {
	Version   string            `json:"findslipSettings"` // "1.0"
	Headings  string            `json:"headings"`         // the checksum of the headings of the log
	DateOrder string            `json:"dateOrder,omitzero"`
	Unit      string            `json:"unit,omitzero"`
	System    string            `json:"system,omitzero"`
	Pivot     int               `json:"pivot,omitzero"`
	Language  string            `json:"language,omitzero"` // BCP 47, of the words in the log
	Defaults  map[string]string `json:"defaults,omitzero"` // by flat name: of columns that the log does not have
	Protected string            `json:"protected,omitzero"`
	Profile   string            `json:"profile,omitzero"` // file name of whom the log is for
	Plan      *ColumnMap        `json:"plan,omitzero"`
}

const settingsVersion = "1.0"

// Suppliable returns the fields that settings may give to all finds of a log.
func Suppliable() []string { return slices.Clone(suppliable) }

var suppliable = []string{"finder", "place.country", "place.region", "place.parish", "position.method", "depth.basis"}

// withheld are members that say who may see what, or what is silenced, and by what word they are spoken of.
var withheld = map[string]string{"sensitivity": "how much of a find others may see",
	"sensitivityReasons": "how much of a find others may see", "consent": "what a person agreed to",
	"consents": "what a person agreed to", "embargo": "from when on a find may be shown",
	"embargoUntil": "from when on a find may be shown", "policy": "what is handed on",
	"audience": "for whom a copy is", "reuse": "what others may do with it", "accepted": "which notices are silenced",
	"rules": "which rules are asked", "severity": "how grave a notice is", "severities": "how grave a notice is",
	"failOn": "how grave a notice is", "level": "how much a record must say"}

var (
	languageTag = text.Pattern(`^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$`)
	countryCode = text.Pattern(`^[A-Z]{2}(-[A-Z0-9]{1,3})?$`)
	sumForm     = text.Pattern(`^sha256:[0-9a-f]{64}$`)
)

// ReadSettings reads a settings file and proves it. Of the limits Side is looked at.
func ReadSettings(r io.Reader, limits limit.Limits) (*Settings, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, err
	}
	var members map[string]jsontext.Value
	if err := aside.ReadSome(raw, &members); err != nil {
		return nil, fmt.Errorf("this is not a settings file: %w", err)
	}
	for name := range members {
		if err := refuse(name); err != nil {
			return nil, err
		}
	}
	s := new(Settings)
	if err := aside.Read(raw, s); err != nil {
		return nil, fmt.Errorf("this is not a settings file: %w", err)
	}
	if s.Version != settingsVersion {
		return nil, fmt.Errorf("findslipSettings is %q, not %q: this is not a settings file of a known version", s.Version,
			settingsVersion)
	}
	return s, s.check()
}

// refuse returns an error for what does not belong in a settings file.
func refuse(field string) error {
	first, _, _ := strings.Cut(field, ".")
	if what := withheld[first]; what != "" {
		return fmt.Errorf("%q does not belong in a settings file: it says how a log is read, and never %s; say that in the "+
			"log itself, or to the command",
			field, what)
	}
	return nil
}

func (s *Settings) check() error {
	if !sumForm().MatchString(s.Headings) {
		return errors.New(`headings is not a checksum of the form sha256:...; let findslip columns IN --ask write the file`)
	}
	if err := checkHints(s.Unit, s.DateOrder, s.System); err != nil {
		return err
	}
	if s.Language != "" && !languageTag().MatchString(s.Language) {
		return fmt.Errorf("language %q is not a language tag such as en or nl", s.Language)
	}
	if s.Pivot != 0 && (s.Pivot < 1000 || s.Pivot > 3000) {
		return fmt.Errorf("pivot %d is not a year of four digits", s.Pivot)
	}
	if strings.ContainsAny(s.Profile, `/\`) || strings.HasPrefix(s.Profile, ".") {
		return errors.New("profile is the name of a file in the folder of the settings, without a folder")
	}
	if strings.ContainsAny(s.Protected, `/\`) || strings.HasPrefix(s.Protected, ".") {
		return errors.New("protected is not the name of a file in the folder of the log")
	}
	for name, value := range s.Defaults {
		if err := checkDefault(name, value); err != nil {
			return err
		}
	}
	return s.checkPlan()
}

func checkDefault(name, value string) error {
	if err := refuse(name); err != nil {
		return err
	}
	if !slices.Contains(suppliable, name) {
		return fmt.Errorf("defaults: %q is not one of %s, which are all that can be stated for a whole log", name,
			strings.Join(suppliable, ", "))
	}
	if strings.TrimSpace(value) == "" || len(value) > 200 {
		return fmt.Errorf("defaults: %q has no value, or one of more than 200 characters", name)
	}
	list := map[string]string{"position.method": "position-method", "depth.basis": "depth-basis"}[name]
	if list != "" {
		if _, ok := vocabulary.Get(list).Concept(value); !ok {
			return fmt.Errorf("defaults: %q of %s is not a code of the list %s; findslip explain shows it", value, name, list)
		}
	}
	if name == "place.country" && !countryCode().MatchString(value) {
		return fmt.Errorf("defaults: %q is not the code of a country, such as US, or of a part of one, such as GB-ENG", value)
	}
	return nil
}

// checkPlan proves the plan, which may say of no column that it holds what settings may not state.
func (s *Settings) checkPlan() error {
	if s.Plan == nil {
		return nil
	}
	if s.Plan.Version = mapVersion; s.Plan.ReportID != "" && !find.IsURN(s.Plan.ReportID) {
		return errors.New("plan: reportId is not a UUID URN in lower case")
	}
	if err := s.Plan.check(); err != nil {
		return fmt.Errorf("plan: %w", err)
	}
	for _, t := range append([]MapTable{{Columns: s.Plan.Columns}}, s.Plan.Tables...) {
		for _, c := range t.Columns {
			if err := refuse(c.Field); err != nil {
				return err
			}
		}
	}
	return nil
}

// Write writes a settings file.
func (s *Settings) Write(w io.Writer) error {
	out := *s
	out.Version = settingsVersion
	if err := out.check(); err != nil {
		return err
	}
	b, err := json.Marshal(out, json.Deterministic(true), jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// HeadingsSum returns the checksum of the headings of a log: of what stands in the rows of headings of its tables
// and in which columns, each such row once. It does not change when rows are added, and ignores any plan.
func HeadingsSum(r io.ReadSeeker, o Options) (string, error) {
	book, err := openTable(r, o)
	if err != nil {
		return "", err
	}
	d := &decoder{book: book, o: Options{File: o.File, Encoding: o.Encoding, Limits: o.Limits}, report: new(find.Report)}
	if err := d.plan(); err != nil {
		return "", err
	}
	var rows []string
	for _, p := range d.sheets {
		t := p.tables[0]
		var b strings.Builder
		for _, c := range t.columns {
			fmt.Fprintf(&b, "%s\t%s\n", find.ColumnLetters(c.column),
				strings.ToLower(strings.Join(strings.Fields(c.heading), " ")))
		}
		if !slices.Contains(rows, b.String()) {
			rows = append(rows, b.String())
		}
	}
	sum := sha256.Sum256([]byte(strings.Join(rows, "\n")))
	return "sha256:" + hex.EncodeToString(sum[:]), nil
}

// supply gives a find what is stated for the whole log, where no column of its table speaks of it.
func (r *rowReader) supply() {
	for _, name := range suppliable {
		value := r.d.o.Defaults[name]
		if value == "" || r.t.field(name) != nil {
			continue
		}
		f := r.f
		switch name {
		case "finder":
			if f.Finder != "" {
				continue
			}
			f.Finder = r.d.references.Person(value)
		case "position.method":
			if f.Position == nil || f.Position.Method != nil {
				continue
			}
			f.Position.Method = &find.Term{Code: value}
		case "depth.basis":
			if f.Depth == nil || f.Depth.Basis != nil {
				continue
			}
			f.Depth.Basis = &find.Term{Code: value}
		default:
			if f.Place == nil {
				f.Place = new(find.Place)
			}
			to := map[string]*string{"place.country": &f.Place.Country, "place.region": &f.Place.Region,
				"place.parish": &f.Place.Parish}[name]
			if *to != "" {
				continue
			}
			*to = value
		}
		find.MarkSupplied(f, "/"+strings.ReplaceAll(name, ".", "/"))
	}
}

// Check proves settings.
func (s *Settings) Check() error { return s.check() }

// PlanColumn states what a column of a table is.
func (s *Settings) PlanColumn(t MapTable, c MapColumn) {
	if s.Plan == nil {
		s.Plan = &ColumnMap{Version: mapVersion}
	}
	for i := range s.Plan.Tables {
		if to := &s.Plan.Tables[i]; to.Sheet == t.Sheet && to.Row == t.Row {
			to.Columns = append(to.Columns, c)
			return
		}
	}
	t.Columns = []MapColumn{c}
	s.Plan.Tables = append(s.Plan.Tables, t)
}
