package validate

import "slices"

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
		logRules,
		farRules,
		orderRules,
		extensionRules,
	)
}
