package quantity

import (
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/text"
)

// propose adds to e what the writer may have meant, if that would be read.
func (p *parser) propose(e *Error) {
	var texts []string
	before, after := p.s[:e.At], p.s[e.At+len(e.Part):]
	put := func(part string) { texts = append(texts, before+part+after) }
	switch e.Code {
	case CodeNotUnderstood:
		p.proposeUnread(e)
		return
	case CodeUnitMissing:
		if len(e.Proposals) > 0 {
			break
		}
		for _, u := range usualUnits(p.dimension) {
			texts = append(texts, p.s+" "+u.String())
		}
	case CodeNumberAmbiguous:
		put(strings.NewReplacer(",", "", ".", "").Replace(e.Part))
		put(strings.ReplaceAll(e.Part, ",", "."))
		// Where the point parts thousands, a comma and other than three decimals tell.
		switch text := strings.ReplaceAll(e.Part, ".", ","); {
		case text == e.Part:
		case strings.HasSuffix(text, "0"):
			put(strings.TrimRight(text, "0,"))
		default:
			put(text + "0")
		}
	case CodeNumberTooLong:
		if whole, frac, ok := strings.Cut(e.Part, "."); ok && len(whole) < 10 && len(frac) > 9 {
			if d, err := ParseDecimal(whole + "." + frac[:9]); err == nil {
				if frac[9] >= '5' {
					d++
				}
				put(d.String())
			}
		}
	case CodeFractionAmbiguous:
		for _, text := range fractionReadings(e.Part) {
			put(text)
		}
	case CodeUnitOrder:
		if p.lo.unit == NoUnit {
			break
		}
		if i := int(p.token[2].at); p.n == 4 && i > 0 { // 8 in 20 cm
			texts = append(texts, strings.TrimSpace(p.s[:i])+" ("+p.s[i:]+")")
		}
	case CodeRange:
		if a, b, ok := cutDash(e.Part); ok {
			put(a + " to " + b)
			put(a + " " + b)
		}
	case CodeUnitAmbiguous:
		p.proposeUnits(e, put)
	}
	for _, text := range texts {
		if p.reads(text) {
			e.Proposals = append(e.Proposals, text)
		}
	}
}

// proposeUnits writes the meanings of an ambiguous unit in its place.
func (p *parser) proposeUnits(e *Error, put func(string)) {
	t := p.tok() // the unit, at which reading stopped
	switch {
	case p.lo.unit == OZ:
	case t.is(wCarat):
		put(strings.TrimSpace(p.s[e.At:t.at]) + " metric carat")
	case t.is(wDram):
		put("dram avoirdupois")
		put("dram apothecaries")
	case t.is(wLine):
		put("line (1/12 in)")
		put("line (1/40 in)")
	case t.is(wMil):
		put("thou")
		put("mm")
	default:
		put("grain")
		put("g")
	}
}

func usualUnits(d Dimension) []Unit {
	switch d {
	case Length:
		return []Unit{CM, IN}
	case Mass:
		return []Unit{G}
	}
	return nil
}

const depthHelp = "write the depth as it was measured or estimated, such as about 20 cm or less than 10 cm, or \"not " +
	"measured\""

// IsDepthInWords reports whether a text says how deep without a figure that can be relied on: shallow, a hand deep.
func IsDepthInWords(err *Error) bool {
	return err.Code == CodeVague && err.Help == depthHelp || err.Code == CodeUnitUnknown
}

// proposeUnread finds the cause of a text that the grammar could not read.
func (p *parser) proposeUnread(e *Error) {
	for i := 0; i < p.n; i++ {
		t := &p.token[i]
		next := p.token[i+1]
		switch {
		case t.kind == kDash && next.kind == kNumber &&
			(i == 0 || p.token[i-1].kind == kWord && !p.token[i-1].is(wUnit|wGrain|wNumber)):
			*e = *newError(p.s, CodeNegative, int(t.at), int(next.end))
			rest := p.s[:t.at] + p.s[t.end:]
			if p.reads(rest) {
				e.Proposals = []string{strings.TrimSpace(rest)}
			}
			return
		case t.is(wLayer) && p.dimension == Length && !p.anyNumber():
			*e = *newError(p.s, CodeLayer, int(p.token[0].at), int(p.token[p.n-1].end))
			return
		case t.is(wVagueDepth) && p.dimension == Length && !p.anyNumber() && !p.anyLayer():
			*e = *newError(p.s, CodeVague, int(t.at), int(t.end))
			e.Help = depthHelp
			return
		case t.is(wVague) && !p.anyNumber():
			*e = *newError(p.s, CodeVague, int(t.at), int(t.end))
			return
		case (t.kind == kTimes || t.is(wTimes)) && i > 0 && next.kind == kNumber:
			*e = *newError(p.s, CodeTwoMeasures, int(t.at), int(t.end))
			return
		case t.kind == kNumber && next.kind == kNumber && i+1 < p.n && t.places == 0:
			// 1 200 mm: a blank may part thousands.
			if next.end-next.at == 3 && next.places == 0 {
				*e = *newError(p.s, CodeNumberAmbiguous, int(t.at), int(next.end))
				e.Message = "two numbers stand side by side"
				e.Help = "write one number, without a blank inside it"
				if text := p.s[:t.end] + p.s[next.at:]; p.reads(text) {
					e.Proposals = []string{text}
				}
				return
			}
		case t.kind == kComma && i > 0 && p.token[i-1].kind == kNumber && next.kind == kNumber:
			*e = *newError(p.s, CodeTwoMeasures, int(p.token[i-1].at), int(next.end))
			for _, with := range []string{"-", "."} {
				if text := p.s[:p.token[i-1].end] + with + p.s[next.at:]; p.reads(text) {
					e.Proposals = append(e.Proposals, text)
				}
			}
			return
		}
	}
}

func (p *parser) anyLayer() bool {
	for i := 0; i < p.n; i++ {
		if p.token[i].is(wLayer) {
			return true
		}
	}
	return false
}

func (p *parser) anyNumber() bool {
	for i := 0; i < p.n; i++ {
		if k := p.token[i].kind; k == kNumber || k == kFraction {
			return true
		}
	}
	return false
}

// cutDash cuts a text at its first dash of any kind.
func cutDash(s string) (a, b string, ok bool) {
	for i, c := range s {
		if i > 0 && text.Sign(c) == '-' {
			return strings.TrimSpace(s[:i]), strings.TrimSpace(s[i+len(string(c)):]), true
		}
	}
	return s, "", false
}

// fractionReadings lists what n/d may mean: a whole number run into a fraction
// (81/2), a fraction in lowest terms, or a range.
func fractionReadings(s string) (texts []string) {
	a, b, ok := strings.Cut(s, "/")
	if !ok {
		return nil
	}
	a, b = strings.TrimSpace(a), strings.TrimSpace(b)
	n, err1 := strconv.ParseUint(a, 10, 32)
	d, err2 := strconv.ParseUint(b, 10, 32)
	if err1 != nil || err2 != nil || n == 0 || d == 0 {
		return nil
	}
	add := func(text string) { texts = append(texts, text) }
	// The digits before the stroke may hold the whole number: 81/2, 113/16.
	for cut := len(a) - 1; cut > 0; cut-- {
		m, _ := strconv.ParseUint(a[cut:], 10, 32)
		switch d {
		case 2, 3, 4, 8, 16, 32, 64:
			if m > 0 && m < d && a[cut] != '0' && gcd(m, d) == 1 {
				add(a[:cut] + " " + a[cut:] + "/" + b)
			}
		}
	}
	switch {
	case n < d:
		if d <= 2*n || d < 8 || n > 1 && d <= 24 {
			add(a + "-" + b)
		}
		g := gcd(n, d)
		if r := d / g; r == 2 || r == 4 {
			add(strconv.FormatUint(n/g, 10) + "/" + strconv.FormatUint(r, 10))
		} else if d == 3 {
			add(map[uint64]string{1: "⅓", 2: "⅔"}[n])
		} else if v, ok := convertPlain(n, d); ok {
			add(v)
		}
	case len(texts) == 0 && n > d:
		add(b + "-" + a)
		if n%d != 0 && (d == 2 || d == 4 || d == 8 || d == 16) {
			add(strconv.FormatUint(n/d, 10) + " " + strconv.FormatUint(n%d, 10) + "/" + b)
		}
	}
	return texts
}

// convertPlain writes n/d as a decimal when it is a finite one.
func convertPlain(n, d uint64) (string, bool) {
	if one%d != 0 && (n*one)%d != 0 {
		return "", false
	}
	return Decimal(n * one / d).String(), true
}

// unlisted refuses a unit that is not in the list, and proposes the same
// measure in one that is, where that is certain.
func (p *parser) unlisted(t *token, m *measure) {
	message, help := "", ""
	if p.dimension == Length && !t.word.angle {
		message, help = "hands, fingers and spades differ in size",
			"write about how much it is, such as about 25 cm or about 10 in"
	}
	p.failAt(CodeUnitUnknown, t.at, t.end, message, help)
	if m.den == 0 || p.i < 1 || p.dimension != Mass || t.word.grams == 0 {
		return
	}
	if num, ok := mul(m.num, uint64(t.word.grams)); ok {
		if v, ok := convert(num, m.den, G, G); ok {
			p.err.Proposals = append(p.err.Proposals, v.String()+" g")
		}
	}
}

// ambiguousGrain asks whether gr is the grain or the gram.
func (p *parser) ambiguousGrain(t *token) {
	p.failAt(CodeUnitAmbiguous, t.at, t.end, "", "")
}
