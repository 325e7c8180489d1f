package render

import (
	"cmp"
	"maps"
	"path"
	"slices"
	"strconv"
	"strings"
)

// Sentence is what a receiver says in several languages, by language tag.
type Sentence map[string]string

// In returns the sentence in a language, else in the first of the others that there is, in that order.
func (t Sentence) In(language string, others ...string) string {
	base, _, _ := strings.Cut(language, "-")
	for _, tag := range slices.Concat([]string{language, base}, others, slices.Sorted(maps.Keys(t))) {
		if text := t[tag]; text != "" {
			return text
		}
	}
	return ""
}

// Score is what finds are good for.
type Score struct {
	Finds   int      // all that were seen
	Covered int      // of them, those that the receiver does not surely leave out
	Good    int      // of those, the ones that lack nothing that must be given, as far as all was checked
	Untold  int      // neither good nor lacking: something could not be checked
	Outside []string // the first finds that it surely leaves out
	Because []string // for what, beside each
	Alone   []string // the first finds that nobody is to touch, of which something is not asked for that
	Near    []string // the first finds from where such a one lay, of which something is not asked for that
	Others  bool     // one of those is of another log
}

// Count is what one ask came to.
type Count struct {
	Asked, Lacking, Untold int
	Unspoken               int      // of Lacking, those of which no notice speaks
	Unasked, Undoubted     int      // of Lacking and Untold, those of finds that nobody is to touch or to go back to
	Last                   int      // finds that lack nothing else that must be, and can be told of
	Unread                 int      // of Lacking, those that have it in words that could not be read
	Worded                 []string // the first of them
	Finds                  []string // the first that lack it, or have what is never to be sent
	Stands, Found          []string // the first codes that stand in the place of those that are asked, and the finds
	Doubtful               []string // the first of which it is not checked
	Waived                 int      // finds for which it was waived and would have been lacking or not checked
	Spared                 []string // the first of them
	Waits                  []string // the first for which it would be waived if the finder's name were shown
}

// Receiver is somebody, or a level, that asks for something of finds, and what that came to. Its texts are the
// body's own, by language.
type Receiver struct {
	ID, Version string
	Level       bool // one of the levels that are shipped
	Title, Body Sentence
	Contact     Sentence
	Promises    []Sentence
	Questions   [][2]Sentence // that finders ask, with the answer; without one it is asked of them
	Languages   []string      // the first is the one to fall back on
	Score
	Doubts   Asked // of which it cannot be told whether it leaves them out: Untold, Doubtful and Needs
	Asks     []Asked
	More     []More   // what it asks for that a copy for the audience does not hold
	Remarks  []string // that it is out of date
	Audience string   // whose copy that is; empty: any that leaves the house
}

// Asked is one ask of a receiver, and what it came to.
type Asked struct {
	Count
	Name, Strength, From string
	Title, Why, Who, How Sentence
	Members, Columns     []string // what is asked for, by pointer, and the headings below which it is written
	Given                bool     // no reason does in its place
	Share                bool     // it is asked of a share of the finds: Lacking is how many more are to have it
	Unseen               bool     // pictures that would tell were not at hand
	AsWanted             bool     // it is asked; what cannot be told is whether it is as they want it
	Waivers              []Waiver
	Needs                []string // headings of what would tell
	Codes                []string // one of which is asked, in words
}

// ofPerson reports whether what is asked for is of a person, who may not have agreed that it is shown.
func (a *Asked) ofPerson() bool {
	return len(a.Members) > 0 && strings.HasPrefix(a.Members[0], "/finder/")
}

// Waiver says why a receiver does without an ask, and who said so when.
type Waiver struct {
	Why     Sentence
	By, Day string
}

// More is something that a receiver asks for beyond what the audience gets.
type More struct {
	Title, Why Sentence
	Finds      int
	How        string // cell, month, band, withhold ...: what the audience gets in its place
}

// say returns a text of the receiver in a language.
func (r *Receiver) say(t Sentence, language string) string {
	return Clean(t.In(language, append(slices.Clone(r.Languages), "en")...))
}

// Called is the title of the receiver in a language.
func (r *Receiver) Called(language string) string {
	return cmp.Or(r.say(r.Title, language), Clean(r.ID))
}

// Words names an ask in a language.
func (r *Receiver) Words(a *Asked, language string) string {
	return cmp.Or(r.say(a.Title, language), Clean(strings.ReplaceAll(a.Name, "-", " ")))
}

// Lacks returns the asks of a strength that finds lack, those that most lack first.
func (r *Receiver) Lacks(strength string) (out []*Asked) {
	for i := range r.Asks {
		if r.Asks[i].Strength == strength && r.Asks[i].Lacking > 0 {
			out = append(out, &r.Asks[i])
		}
	}
	slices.SortStableFunc(out, func(a, b *Asked) int { return b.Lacking - a.Lacking })
	return out
}

// Join adds to receivers what they found in another file. Both lists are of the same profiles, or the first is nil.
func Join(a, b []Receiver) []Receiver {
	if a == nil {
		return b
	}
	for i := range a {
		r, o := &a[i], &b[i]
		r.Finds, r.Covered, r.Good, r.Untold = r.Finds+o.Finds, r.Covered+o.Covered, r.Good+o.Good, r.Untold+o.Untold
		r.Outside, r.Alone, r.Near = Few(r.Outside, o.Outside...), Few(r.Alone, o.Alone...), Few(r.Near, o.Near...)
		r.Because, r.Others = Few(r.Because, o.Because...), r.Others || o.Others
		r.Doubts.join(&o.Doubts)
		for k := range r.Asks {
			r.Asks[k].join(&o.Asks[k])
		}
		for k := range r.More {
			r.More[k].Finds += o.More[k].Finds
		}
	}
	return a
}

// join adds what an ask came to in another file.
func (a *Asked) join(b *Asked) {
	a.Asked, a.Lacking, a.Untold, a.Unspoken = a.Asked+b.Asked, a.Lacking+b.Lacking, a.Untold+b.Untold,
		a.Unspoken+b.Unspoken
	a.Unasked, a.Undoubted = a.Unasked+b.Unasked, a.Undoubted+b.Undoubted
	a.Unread, a.Worded = a.Unread+b.Unread, Few(a.Worded, b.Worded...)
	a.Finds, a.Doubtful, a.Spared = Few(a.Finds, b.Finds...), Few(a.Doubtful, b.Doubtful...), Few(a.Spared, b.Spared...)
	a.Waits, a.Stands, a.Found = Few(a.Waits, b.Waits...), Few(a.Stands, b.Stands...), Few(a.Found, b.Found...)
	a.Waived, a.AsWanted, a.Unseen = a.Waived+b.Waived, a.AsWanted && b.AsWanted, a.Unseen || b.Unseen
	for _, name := range b.Needs {
		if !slices.Contains(a.Needs, name) {
			a.Needs = append(a.Needs, name)
		}
	}
}

// Few adds names to a list, as many as are named.
func Few(list []string, more ...string) []string {
	return append(list, more[:max(min(len(more), mostNamed-len(list)), 0)]...)
}

// mostNamed is how many finds are named for an ask.
const mostNamed = 10

// Nearest returns the receivers that are no levels, the one that the log is nearest to first: by the share of finds
// that are good, then by the answers that are missing.
func (d *Document) Nearest() []*Receiver {
	var out []*Receiver
	for i := range d.Asked {
		if !d.Asked[i].Level {
			out = append(out, &d.Asked[i])
		}
	}
	slices.SortStableFunc(out, func(a, b *Receiver) int {
		if x, y := a.Good*max(b.Covered, 1), b.Good*max(a.Covered, 1); x != y {
			return y - x
		}
		return a.answers() - b.answers()
	})
	return out
}

// answers is how many answers are missing.
func (r *Receiver) answers() (n int) {
	for _, a := range r.Lacks("must") {
		n += a.Lacking
	}
	return n
}

// Reception is what a receiver is told, in words. The texts between quotation marks are the body's.
type Reception struct {
	Verdict string   // good for ...: 14 of 20 finds
	Todo    []string // what is to do for the rest, cheapest last; each with the finds
	Strange string   // which columns were not understood, in which it may stand
	Step    string   // of those the one that makes most finds good
	Wishes  []string
	Welcome []string // which letters say, and no report
	Never   []string // what is not wanted and is in the log
	More    []string
	Asks    []string // what they ask of people; answers have no place in a log
	Told    []string // what people ask them, and the answers
	Promise []string
	Notes   []string
}

// A receptionPart is one list of what a receiver is told, under its heading.
type receptionPart struct {
	Heading string
	Lines   []string
}

// parts are the lists of a reception that hold something, what is to do first.
func (s *speech) parts(r Reception) []receptionPart {
	return slices.DeleteFunc([]receptionPart{{s.text("todo"), r.Todo}, {s.text("wishes"), r.Wishes},
		{s.text("unwanted"), r.Never}, {s.text("askMore"), r.More}, {s.text("askYou"), r.Asks},
		{s.text("pQuestions"), r.Told}, {s.text("pPromise"), r.Promise}},
		func(p receptionPart) bool { return len(p.Lines) == 0 })
}

// quote shows a text as the body's own, between the marks of the language, which stand for nothing else in it; in a
// letter of the body it needs no sign.
func (v *Verdict) quote(text string) string {
	if v.Theirs {
		return text
	}
	return v.speech.text("quote", "text", bodysMarks.Replace(text))
}

var bodysMarks = strings.NewReplacer("«", "'", "»", "'", "“", "'", "”", "'", "„", "'", `"`, "'")

// Reception returns what the check came to for one receiver.
func (v *Verdict) Reception(r *Receiver) (out Reception) {
	s, language := v.speech, v.theirs
	out.Verdict = s.many("goodOf", r.Covered, "what", v.quote(r.Called(language)), "good", strconv.Itoa(r.Good))
	if left := r.Finds - r.Covered; left > 0 {
		text := s.many("notTheirs", left)
		if left <= mostNamed {
			text = strings.TrimSuffix(text, ".") + ": " + strings.Join(r.Beyond(s.Language), "; ")
		}
		out.Notes = append(out.Notes, text)
	}
	if d := &r.Doubts; d.Untold > d.Undoubted {
		text := strings.Trim(v.which(d.Doubtful, d.Untold-d.Undoubted, r.Finds), " :")
		out.Notes = append(out.Notes, s.text("unsureTheirs", "what", text+v.wouldTell("wouldTell", d)))
	}
	if text := v.Alone(r); text != "" {
		out.Notes = append(out.Notes, text)
	}
	if r.Untold > 0 {
		out.Notes = append(out.Notes, s.many("undecided", r.Untold))
	}
	v.receptionOfAsks(r, &out)
	for i := range r.Asks {
		if a := &r.Asks[i]; a.Strength == "never" && a.Untold > 0 {
			out.Never = append(out.Never,
				s.text("leftOut", "what", v.quote(r.Words(a, language))+v.which(a.Doubtful, a.Untold, r.Covered)))
		}
	}
	for strength, list := range map[string]*[]string{"must": &out.Todo, "should": &out.Wishes, "may": &out.Welcome,
		"never": &out.Never} {
		most := 0
		for _, a := range r.Lacks(strength) {
			lines := v.asked(r, a)
			if *list = append(*list, lines...); strength == "must" && a.Last > most {
				most, out.Step = a.Last, strings.Join(lines, "; ")
			}
		}
	}
	for _, m := range r.More {
		text := v.quote(r.say(m.Title, language))
		if why := r.say(m.Why, language); why != "" {
			text += ", " + s.text("because", "why", v.quote(why))
		}
		out.More = append(out.More, text)
	}
	v.receptionOfQuestions(r, &out)
	if len(v.NotKnown) > 0 && len(out.Todo)+len(out.Wishes) > 0 {
		out.Strange = s.text("strange", "list", Clean(few(v.NotKnown)))
		out.Notes = append(out.Notes, out.Strange)
	}
	out.Notes = append(out.Notes, r.Remarks...)
	for _, text := range r.Promises {
		out.Promise = append(out.Promise, v.quote(r.say(text, language)))
	}
	return out
}

// receptionOfAsks notes what cannot be told of an ask, what would be waived and what was.
func (v *Verdict) receptionOfAsks(r *Receiver, out *Reception) {
	s, language := v.speech, v.theirs
	for i := range r.Asks {
		a := &r.Asks[i]
		if text := v.unsure(r, a); text != "" && a.AsWanted {
			out.Notes = append(out.Notes, s.text("unsureHow", "what", text))
		} else if text != "" {
			out.Notes = append(out.Notes, s.text("unsure", "what", text))
		}
		if len(a.Waits) > 0 {
			what := v.quote(r.Words(a, language)) + v.which(a.Waits, len(a.Waits), r.Covered)
			out.Notes = append(out.Notes, s.text("waits", "what", what))
		}
		for _, w := range a.Waivers {
			if what := v.quote(r.Words(a, language)); a.Waived > 0 {
				what += v.which(a.Spared, a.Waived, r.Covered)
				out.Notes = append(out.Notes, s.text("waived", "what", what, "why", v.quote(r.say(w.Why, language)),
					"by", Clean(w.By), "day", w.Day))
			}
		}
	}
}

// receptionOfQuestions takes the questions that are answered, and puts the others.
func (v *Verdict) receptionOfQuestions(r *Receiver, out *Reception) {
	s, language := v.speech, v.theirs
	for _, q := range r.Questions {
		if answer := r.say(q[1], language); answer != "" {
			out.Told = append(out.Told, v.quote(r.say(q[0], language)+" "+answer))
		} else {
			if len(out.Asks) == 0 && len(v.Safety)+len(r.Alone)+len(r.Near) > 0 {
				out.Asks = append(out.Asks, s.text("fromMemory"))
			}
			out.Asks = append(out.Asks, v.quote(r.say(q[0], language)))
		}
	}
}

// Danger is what is said of danger to life and of the dead, with the finds; some are called otherwise than by their id.
func (v *Verdict) Danger(called map[string]string) (lines []string) {
	for _, job := range v.Safety {
		var finds []string
		for i := range job.Examples {
			if find := job.Examples[i].Find; find != "" {
				finds = append(finds, cmp.Or(called[find], find))
			}
		}
		text := strings.TrimSpace(strings.TrimSuffix(job.Say, ".") + ". " + job.Do)
		if len(finds) > 0 {
			text = Places(v.speech.Language, finds) + ": " + text
		}
		lines = append(lines, text)
	}
	return lines
}

// Needs returns what is to do for asks that must be met: those for which a reason why it is missing does, or the
// others.
func (v *Verdict) Needs(r *Receiver, given bool) (lines []string) {
	for _, a := range r.Lacks("must") {
		if a.Given == given {
			lines = append(lines, v.asked(r, a)...)
		}
	}
	return lines
}

// Beyond names the first finds that it surely leaves out, with what says so.
func (r *Receiver) Beyond(language string) (lines []string) {
	of := map[string][]string{}
	for i, find := range r.Outside {
		of[r.Because[i]] = append(of[r.Because[i]], find)
	}
	for _, why := range slices.Sorted(maps.Keys(of)) {
		lines = append(lines, Places(language, of[why])+" ("+Clean(why)+")")
	}
	return lines
}

// Alone says of which finds nothing is asked that needs touching them or going back; empty: of none.
func (v *Verdict) Alone(r *Receiver) string {
	var parts []string
	if len(r.Alone) > 0 {
		parts = append(parts, v.speech.text("alone", "list", Places(v.speech.Language, r.Alone)))
	}
	near := "nearAlone"
	if r.Others {
		near = "nearOthers"
	}
	if len(r.Near) > 0 {
		parts = append(parts, v.speech.text(near, "list", Places(v.speech.Language, r.Near)))
	}
	return strings.Join(parts, " ")
}

// Unsure says of which asks that must be met it cannot be told whether they are, for which finds, and what would tell.
func (v *Verdict) Unsure(r *Receiver) (lines []string) {
	for i := range r.Asks {
		if text := v.unsure(r, &r.Asks[i]); text != "" {
			lines = append(lines, text)
		}
	}
	return lines
}

// unsure says of one ask that must be met for which finds it cannot be told, and what would tell.
func (v *Verdict) unsure(r *Receiver, a *Asked) string {
	if a.Strength != "must" || a.Untold == a.Undoubted {
		return ""
	}
	frame := "wouldTell"
	if a.AsWanted && a.ofPerson() { // a copy does not show it
		what := v.speech.text("lColumn", "text", v.quote(r.Words(a, v.theirs)), "what", Clean(strings.Join(a.Columns, ", ")))
		return v.speech.text("unagreed", "what", what) + v.which(a.Doubtful, a.Untold-a.Undoubted, r.Covered)
	} else if a.AsWanted {
		frame = "seeThere"
	}
	return v.quote(r.Words(a, v.theirs)) + v.which(a.Doubtful, a.Untold-a.Undoubted, r.Covered) + v.wouldTell(frame, a)
}

// wouldTell names what would tell what cannot be told.
func (v *Verdict) wouldTell(frame string, a *Asked) string {
	names := slices.Clone(a.Needs)
	if a.Unseen {
		names = append(names, v.speech.text(map[bool]string{true: "lPictures", false: "thePictures"}[v.Theirs]))
	}
	if len(names) == 0 {
		return ""
	}
	return "; " + v.speech.text(frame, "what", Clean(strings.Join(names, ", ")))
}

// asked puts one ask in words: what, how many finds and which, why and who knows. What is written and could not be
// read is not called missing; of finds that nobody is to touch nothing is asked that needs it.
func (v *Verdict) asked(r *Receiver, a *Asked) (lines []string) {
	what, lacking := v.quote(r.Words(a, v.theirs)), a.Lacking-a.Unasked-a.Unread
	written := what
	if v.Theirs || a.ofPerson() {
		what = v.speech.text("lColumn", "text", what, "what", Clean(strings.Join(a.Columns, ", ")))
	}
	switch {
	case a.Unread > 0 && a.ofPerson():
		text := v.speech.text("unagreed", "what", what) + v.which(a.Worded, a.Unread, r.Covered)
		lines = append(lines, v.howAndWho(text, r, a))
	case a.Unread > 0:
		text := v.speech.text("unread", "what", written) + v.which(a.Worded, a.Unread, r.Covered)
		lines = append(lines, v.howAndWho(text+". "+v.writtenHow(a.Members[0]), r, a))
	}
	switch {
	case lacking <= 0:
	case a.Share:
		what += ": " + v.speech.many("ofList", lacking, "of", strconv.Itoa(a.Asked))
		lines = append(lines, v.howAndWho(what, r, a))
	default:
		text := what + v.which(a.Finds, lacking, r.Covered)
		if len(a.Stands) > 0 {
			var stands []string
			for i, code := range a.Stands {
				stands = append(stands, Places(v.speech.Language, a.Found[i:i+1])+": "+Clean(code))
			}
			text += ". " + v.speech.text("standsNot", "text", strings.Join(stands, ", "), "what", Clean(few(a.Codes)))
		}
		lines = append(lines, v.howAndWho(text, r, a))
	}
	return lines
}

// few writes out the first of a list.
func few(list []string) string {
	if len(list) > mostNamed {
		list = append(slices.Clone(list[:mostNamed]), "...")
	}
	return strings.Join(list, ", ")
}

// writtenHow says how a member is written so that it is understood.
func (v *Verdict) writtenHow(pointer string) string {
	code := "quantity-not-read"
	switch first, _, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/"); first {
	case "found":
		code = "date-not-read"
	case "position":
		code = "position-not-read"
	}
	own := v.speech.Codes[code]
	return strings.TrimSuffix(cmp.Or(own.At[path.Base(pointer)], own.Do), ".")
}

// howAndWho adds to what is asked how it is done and who knows.
func (v *Verdict) howAndWho(text string, r *Receiver, a *Asked) string {
	s, language := v.speech, v.theirs
	if how := r.say(a.How, language); how != "" {
		text += ". " + v.quote(how)
	}
	if who := r.say(a.Who, language); who != "" {
		text += ". " + s.text("whoKnows", "who", v.quote(who))
	}
	return text
}

// which names finds, where they are some of all and few, else says how many they are.
func (v *Verdict) which(finds []string, count, of int) string {
	if len(finds) == 0 || count > mostNamed || count == of {
		return v.speech.many("someFinds", count)
	}
	return ": " + Places(v.speech.Language, finds)
}

// Signed is the name of the body in a language, where the profile states none its title, then how to reach it.
func (r *Receiver) Signed(language string) (name, contact string) {
	return cmp.Or(r.say(r.Body, language), r.Called(language)), r.say(r.Contact, language)
}

// Places names finds, as a sentence of a language does.
func Places(language string, finds []string) string {
	var names []string
	for _, f := range finds {
		if name := findWords(f); name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return SayMany(language, "findsNamed", len(names), "list", strings.Join(names, ", "))
}
