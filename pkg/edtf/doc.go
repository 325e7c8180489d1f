// Package edtf reads and writes the dates of a find report: the day something
// was found, and how old it is thought to be.
//
// [Parse] reads canonical text and nothing else: the Extended Date/Time Format
// (EDTF) in the Library of Congress specification of 4 February 2019, which is
// a profile of ISO 8601-1 and ISO 8601-2. [NormaliseFound] reads a day of
// finding as people write it ("12/4/26 14:30", "d. 12. april 2026"), and
// [NormaliseDating] reads an age as people write it ("late 17th to early 18th
// century", "c. 1350", "XVIIIe siècle", "Roman"), in English, German, Dutch,
// French, Danish and Swedish. Both return a [Date], whose String is canonical
// and is read back by Parse as the same value.
//
// # Grammar
//
// Parse accepts EDTF levels 0 and 1 whole, and of level 2 what finds need:
//
//	date      = year | year-month | year-month-day | year-season
//	year      = [-]dddd, or Y[-]ddddd... beyond four digits
//	season    = 21 to 41 (spring to winter, by hemisphere, quarters, terms)
//	moment    = date T hh:mm:ss [Z | ±hh | ±hh:mm]
//	interval  = date/date, with .. for an open and nothing for an unknown side
//	qualifier = ? uncertain, ~ approximate, % both; after a part for it and all
//	            before it, in front of a part for that part alone
//	digit     = X where it is not specified, anywhere in a date
//	set       = [a,b..c] one of these, {a,b..c} all of these
//	long year = Y17E7 exponential, 1950S2 with two significant digits
//
// Years are astronomical: 0 is 1 BC, -199 is 200 BC. The calendar is the
// proleptic Gregorian one. A year has at most nine digits.
//
// # Conventions
//
// Where people differ the reading is fixed: a century is 1701/1800; early, mid
// and late are its thirds 1701/1733, 1734/1766 and 1767/1800; "beginning" and
// "end" of a century are read as early and late; halves and quarters are exact
// (1701/1750, 1701/1725); "1860s" is 186X; "1700s" is refused, for it may be a
// decade or a century, but Danish "1700-tallet" and Swedish "1700-talet" are the
// eighteenth century; "c. 1350" is 1350~; "before 1900" is ../1900 and "after
// 1840" is 1840/..; a century or decade after "before" or "after" is left out
// of the span (../1700, 1801/..), after "until" or "since" it is in it; 200 BC is
// -0199. The turn of two named centuries is the last ten years of the one and
// the first ten of the other ("turn of the 18th/19th century" is 1791/1810,
// our own convention); the turn of one century is ambiguous and refused.
// A period word stays a word and never becomes years.
//
// # Not done here
//
// No locale is guessed, no clock is read, and no date is chosen where the text
// leaves two: the error names both. Julian dates are not converted.
//
// This package is unstable: it may change between any two versions.
package edtf
