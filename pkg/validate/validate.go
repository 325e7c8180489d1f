// Package validate judges a find report: first the schema, then the rules that a schema cannot
// say. It never changes the data and never says that something is legal or safe.
//
//	v, err := validate.New(validate.Options{})
//	checked := v.Stream(in) // the same entries, with notices
//
// # Terms
//
// A [Rule] is a notice.Kind and the check that finds it; the [Catalogue] is all of them. A [Level]
// is how much a record must say: a profile that is shipped.
//
// This package is unstable: it may change between any two versions.
package validate

import (
	"fmt"
	"io/fs"
	"maps"
	"math"
	"slices"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/schemacheck"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Options of a Validator. The zero value checks the default level with the default settings and knows no
// today, so that nothing is in the future.
type Options struct {
	Level    Level
	Profiles []*profile.Effective // asked in the place of a level; they may soften opinions
	Shunned  []profile.Spot       // where finds of other logs lay that nobody is to touch
	Rules    string               // which rules are asked, as Select reads it; empty: the default
	AsOf     edtf.Day             // the day that counts as today; zero: none
	Settings *Settings            // nil: DefaultSettings
	Files    fs.FS                // where the pictures of the report lie; nil: they are not looked at
	Limits   limit.Limits         // Nesting and Picture are looked at
	Workers  int                  // finds that are judged at the same time; 0: as many as there are processors
	Slow     bool                 // send every record to the schema engine; what is said is the same
}

// A Validator judges reports, one at a time.
type Validator struct {
	options  Options
	settings Settings
	schemas  *schemacheck.Schemas
	rules    []*Rule
	quiet    map[string]bool // codes of readers that are left out
	asks     *asks
	summary  Summary
}

// Summary counts what a run has seen.
type Summary struct {
	Finds      int
	Levels     []*profile.Tally // of each level, from the least to the most
	Asked      []*profile.Tally // of the level or of each profile that was asked for
	NotChecked map[string]int   // rule code to the number of times it could not be applied
	Deadlines  notice.Deadlines
}

// New returns a Validator.
func New(o Options) (*Validator, error) {
	schemas, err := schemacheck.New()
	if err != nil {
		return nil, fmt.Errorf("preparing the schemas: %w", err)
	}
	o.Limits = o.Limits.WithDefaults()
	schemas = schemas.With(int(min(o.Limits.Nesting, math.MaxInt32)), o.Slow)
	v := &Validator{options: o, schemas: schemas}
	if v.rules, err = Select(o.Rules); err != nil {
		return nil, err
	}
	v.quiet = quiet(o.Rules)
	v.settings = DefaultSettings()
	if o.Settings != nil {
		v.settings = *o.Settings
		v.settings.Protected = o.Settings.Protected.indexed()
	}
	v.rules = profiled(v.rules, &v.settings, o.Profiles)
	if v.asks, err = newAsks(&o); err != nil {
		return nil, err
	}
	return v, nil
}

// Summary returns what the last run has counted; it is complete when the stream has ended.
func (v *Validator) Summary() Summary {
	s := v.summary
	s.Levels, s.Asked, s.NotChecked = slices.Clone(s.Levels), slices.Clone(s.Asked), maps.Clone(s.NotChecked)
	s.Deadlines = slices.Clone(s.Deadlines)
	return s
}

// Catalogue returns every rule, in the order of SPEC.md. The list is fresh, the rules are shared
// and must not be changed.
func Catalogue() []*Rule {
	return slices.Concat(
		readingRules,
		codeRules,
		absentRules,
		identityRules,
		timeRules,
		positionRules,
		depthRules,
		countRules,
		materialRules,
		thingRules,
		conditionRules,
		datingRules,
		identificationRules,
		mediaRules,
		pictureRules,
		permissionRules,
		safetyRules,
		lawRules,
		dutyRules,
		sharingRules,
		custodyRules,
		damageRules,
		farRules,
		orderRules,
		extensionRules,
	)
}

// radiusOfMethod returns the usual radius of a position method and the least that can be believed,
// in metres; zero where the list names none.
func radiusOfMethod(method *find.Term) (usual, least float64) {
	if method == nil {
		return 0, 0
	}
	if c, ok := vocabulary.Get("position-method").Concept(method.Code); ok && c.Method != nil {
		return c.Method.Metres, c.Method.Least
	}
	return 0, 0
}

// radiusUnknown is that of a receiver of which nothing is known, in metres.
func radiusUnknown() float64 {
	usual, _ := radiusOfMethod(&find.Term{Code: "gnss-unknown"})
	return usual
}

// rankOfBasis returns how good a way to know a depth is, 1 the best; zero where the list has no
// such way.
func rankOfBasis(basis *find.Term) int {
	if basis == nil {
		return 0
	}
	if c, ok := vocabulary.Get("depth-basis").Concept(basis.Code); ok {
		return c.Rank
	}
	return 0
}
