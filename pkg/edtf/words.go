package edtf

import (
	"sync"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
)

// class is what a word does in a written date: the word classes of the lexicon.
type class uint8

const (
	noClass        class = iota
	monthWord            // arg 1 to 12
	weekdayWord          // arg 0 for Monday to 6
	seasonWord           // arg 21 to 24
	approxWord           // about
	unsureWord           // probably
	centuryWord          // century; arg 1 for a millennium
	endingWord           // the ending of an ordinal: th, e, ste
	decadeWord           // the ending of a decade: s, er, erne
	hundredsWord         // Danish and Swedish endings: tallet, talet, tal
	ordinalWord          // arg 1 to 21, or -1 for last
	thirdWord            // arg early, middle, late
	fractionWord         // arg 2 for halves, 3, 4
	turnWord             // turn of, arg 1 where the word says century too
	beforeWord           // before
	afterWord            // after
	untilWord            // until, up to
	sinceWord            // since
	betweenWord          // between
	toWord               // to, as far as
	andWord              // and
	orWord               // or
	laterWord            // onwards, later
	earlierWord          // earlier
	eraWord              // arg -1 BC, +1 AD
	fillerWord           // the, of, dated
	yearWord             // year, anno; arg 1 for the years of a decade
	eventWord            // arg made, used, lost
	periodWord           // Roman; arg 1 for a war
	periodTailWord       // age, period: belongs to a period word; arg 1 for a war
	periodHeadWord       // high, post: in front of a period word only; arg 1 older, 2 younger
	reignWord            // reign
	timeWord             // at, o'clock
	noWord               // not
	thanWord             // than
	numberWord           // a number below a hundred, and then value has it
)

// A second meaning of a word, beside its class: what it also may be where its place asks for that.
type also uint16

const (
	alsoDecade also = 1 << iota
	alsoCentury
	alsoWar
	alsoWeekday
	alsoThan
	alsoAbout
	alsoEnding
	alsoHalf
	alsoYear
	alsoAnd
	alsoOf
	alsoDayPart
	alsoWeek
	alsoThe
)

// word is an entry of the word list. A word has the class that comes last in classes; also has some of the others.
type word struct {
	class     class
	arg       int8
	rank      uint8
	also      also
	day       int8 // the day of the week where also has one
	month     int8
	languages uint16 // those that have the word
	clash     bool   // its class differs between two of them
	value     uint8  // of a number word
}

// Arguments of thirdWord.
const (
	early = iota
	middle
	late
)

// Arguments of sinceWord: a word that leaves the end open, one that does so
// only where no end is named, and one that is "of" without an end.
const (
	since = iota
	from
	of
)

// eventNames are the events of a dating, by the argument of eventWord.
var eventNames = [...]string{"made", "used", "lost"}

// classes says what a word class of the lexicon is here. Of the classes that a word is in, the last counts.
var classes = [...]struct {
	name  string
	class class
	arg   int8
}{
	{"number", numberWord, 0}, {"around", approxWord, 0}, {"nearly", approxWord, 0}, {"just", approxWord, 0},
	{"at-time", timeWord, 0}, {"oclock", timeWord, 0},
	{"the", fillerWord, 0}, {"weekend", fillerWord, 0},
	{"period", periodWord, 0}, {"period-tail", periodTailWord, 0}, {"period-head", periodHeadWord, 0},
	{"older", periodHeadWord, 1}, {"younger", periodHeadWord, 2}, {"reign", reignWord, 0}, {"war", periodWord, 1},
	{"war-tail", periodTailWord, 1}, {"weekday", weekdayWord, 0}, {"month", monthWord, 0}, {"season", seasonWord, 0},
	{"than", thanWord, 0}, {"half", fractionWord, 2}, {"third", fractionWord, 3}, {"quarter", fractionWord, 4},
	{"ordinal", ordinalWord, 0}, {"about", approxWord, 0}, {"unsure", unsureWord, 0}, {"century", centuryWord, 0},
	{"millennium", centuryWord, 1}, {"decade-ending", decadeWord, 0}, {"of", sinceWord, of}, {"to", toWord, 0},
	{"ordinal-ending", endingWord, 0}, {"hundreds-ending", hundredsWord, 0}, {"last", ordinalWord, -1},
	{"early", thirdWord, early}, {"middle", thirdWord, middle}, {"late", thirdWord, late}, {"turn", turnWord, 0},
	{"turn-of-century", turnWord, 1}, {"before", beforeWord, 0}, {"after", afterWord, 0}, {"until", untilWord, 0},
	{"from", sinceWord, from}, {"since", sinceWord, since}, {"between", betweenWord, 0}, {"and", andWord, 0},
	{"or", orWord, 0}, {"plus", laterWord, 0}, {"later", laterWord, 0}, {"earlier", earlierWord, 0},
	{"era", eraWord, 0}, {"date-filler", fillerWord, 0}, {"not", noWord, 0}, {"year", yearWord, 0}, {"ish", approxWord, 0},
	{"decade-years", yearWord, 1}, {"event", eventWord, 0},
}

// seconds are the classes that a word keeps beside a later one.
var seconds = map[string]also{
	"decade-ending": alsoDecade, "century-short": alsoCentury, "war": alsoWar, "weekday": alsoWeekday, "than": alsoThan,
	"about": alsoAbout, "ordinal-ending": alsoEnding, "half": alsoHalf, "year": alsoYear, "and": alsoAnd,
	"of": alsoOf, "day-part": alsoDayPart, "week": alsoWeek, "the": alsoThe, "date-filler": alsoThe,
}

// words returns the table of words, made when the first is read.
var words = sync.OnceValue(func() *lexicon.Table[word] {
	ranks := map[string]int{}
	for i, c := range classes {
		ranks[c.name] = i + 1
	}
	table := lexicon.Compile(func(w lexicon.Word) (word, bool) { return meaningOf(w, ranks) }, merged)
	table.Clashes(func(a, b word) bool {
		return tells[a.class] && tells[b.class] && (a.class != b.class || a.arg != b.arg) || a.month != b.month &&
			a.month != 0 && b.month != 0
	}, func(w *word, languages uint32, clash bool) { w.languages, w.clash = uint16(languages), clash })
	return table
})

// meaningOf returns what a word of the lexicon is here, and false where it is nothing.
func meaningOf(w lexicon.Word, ranks map[string]int) (word, bool) {
	rank, second := ranks[w.Class], seconds[w.Class]
	if rank == 0 && second == 0 || w.In != "" && w.In != "date" {
		return word{}, false
	}
	out := word{rank: uint8(rank), also: second}
	if rank > 0 {
		out.class, out.arg = classes[rank-1].class, classes[rank-1].arg
	}
	switch out.class {
	case monthWord:
		out.arg, out.month = int8(w.Is.Int()), int8(w.Is.Int())
	case seasonWord, eraWord:
		out.arg = int8(w.Is.Int())
	case ordinalWord:
		if out.arg == 0 {
			out.arg = int8(w.Is.Int())
		}
	case weekdayWord:
		out.arg, out.day = int8(w.Is.Int()-1), int8(w.Is.Int()-1)
	case eventWord:
		for i, name := range eventNames {
			if name == string(w.Is) {
				out.arg = int8(i)
			}
		}
	case numberWord:
		if w.Number.Den != 1 || w.Number.Num > 99 {
			return word{}, false
		}
		out.value = uint8(w.Number.Num)
	}
	return out, true
}

// merged joins two meanings of a word: the class of the higher rank counts.
func merged(old, more word) word {
	if more.rank > old.rank || more.rank == old.rank && more.arg > old.arg {
		old.class, old.arg, old.rank = more.class, more.arg, more.rank
	}
	old.also |= more.also
	old.day, old.month, old.value = max(old.day, more.day), max(old.month, more.month), max(old.value, more.value)
	return old
}

// tells are the classes that decide the value of a date.
var tells = [...]bool{
	monthWord: true, weekdayWord: true, seasonWord: true, ordinalWord: true, thirdWord: true, fractionWord: true,
	approxWord: true, beforeWord: true, afterWord: true, untilWord: true, eraWord: true, centuryWord: true,
	numberWord: false,
}

// fronts are the first parts of words whose rest is a period, and endings what its words may bear, without accents.
var (
	fronts  = sync.OnceValue(func() []string { return plainForms("period-front") })
	endings = sync.OnceValue(func() []string { return plainForms("period-ending") })
)

func plainForms(class string) []string {
	var out []string
	for _, forms := range lexicon.Forms(class) {
		for _, form := range forms {
			out = append(out, text.Bare(form))
		}
	}
	return out
}
