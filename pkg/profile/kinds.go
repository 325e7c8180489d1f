package profile

import (
	"slices"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

// The kinds of notice that are given of a profile.
var (
	notShaped     = &kinds.ProfileShape
	unknownMember = &kinds.ProfileMemberUnknown
	unknownTerm   = &kinds.ProfileTermUnknown
	noColumn      = &kinds.ProfileNoColumn
	impossible    = &kinds.ProfileImpossible
	contradiction = &kinds.ProfileContradiction
	badText       = &kinds.ProfileText
	notChangeable = &kinds.ProfileFixed
	baseMissing   = &kinds.ProfileBase
	whyMissing    = &kinds.ProfileWhy
	noPlace       = &kinds.ProfileJurisdiction
	oftenUntold   = &kinds.ProfileUntold
	idle          = &kinds.ProfileIdle
	noLanguage    = &kinds.ProfileLanguage
	outOfDate     = &kinds.ProfileDate
)

// Kinds returns the kinds of notice that are given of a profile. The list is fresh.
func Kinds() []*notice.Kind {
	return slices.Clone([]*notice.Kind{notShaped, unknownMember, unknownTerm, noColumn, impossible, contradiction,
		badText, notChangeable, baseMissing, noPlace, whyMissing, oftenUntold, idle, noLanguage, outOfDate, wordRead})
}
