// Package quantity reads lengths, masses and counts as people write them, and
// either reads them exactly or refuses them: it never guesses.
//
// NormaliseLength, NormaliseMass and NormaliseCount take the text of a cell
// ("8½″", "7 to 9 in", "more than a foot", "ca. 20 cm", "zehn Zentimeter")
// and return a Reading: the value, the reason where the text says that there
// is none, and notes about whatever had to be assumed. What cannot be read
// honestly is an *Error with a code, the part at fault, and proposals that a
// person may accept.
//
//	r, err := quantity.NormaliseLength("7-9", quantity.Options{Default: quantity.IN})
//	// r.Quantity is 17.78..22.86 cm (said in; step 2.54)
//
// # Terms
//
// A Quantity is an interval with inclusive ends, in one unit; "said" is the
// unit that was written, and the resolution is the step to which it was
// written. Conversion is exact to nine decimal places, half to even, and is
// done once; Show rounds for people and never shows more than was stated.
//
// # Conventions where people differ
//
//   - 8-1/2" is eight and a half (common practice); 6-8" is a range.
//   - n/d is a fraction for halves and quarters. For eighths to sixty-fourths
//     it is one where no range can be meant: n is odd and less than half of d
//     (3/8", 1/16"). 8/9" is a range; 6/8", 7/8", 2/3" and 81/2" are refused. A mixed
//     number such as 8 3/8" is always read.
//   - A comma with one or two digits behind it is a decimal comma; 1,200 is
//     refused, since it is 1200 to some and 1.2 to others. A point is always
//     decimal.
//   - oz is the avoirdupois ounce. gr is refused unless the column, or a
//     pennyweight beside it, tells grain from gram.
//   - Over, under, at least and up to all give an inclusive bound: the interval
//     may hold its end, it never loses a value.
//   - Zoll, duim, pouce, tomme and tum are the inch of 25.4 mm, not the old
//     national inches.
//
// # Goals and non-goals
//
// The six languages are English, German, Dutch, French, Danish and Swedish,
// and they may be mixed. The package judges no value (a depth of 30 m is read),
// knows no column, and stores no default widths.
//
// This package is unstable: it may change between any two versions.
package quantity
