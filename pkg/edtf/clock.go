package edtf

import (
	"strings"

	"github.com/findslip/findslip/pkg/lexicon"
)

// clock is a local time of day with an optional offset from UTC. It is kept
// beside the day and never moves it.
type clock struct {
	set                  bool
	hour, minute, second uint8
	seconds              bool // whether seconds are stated
	zone                 zone
	offset               int16 // minutes east of UTC
}

// zone is the way an offset is written.
type zone uint8

const (
	noZone zone = iota
	utcZone
	hourZone   // +02
	minuteZone // +02:00
)

// String writes hh:mm or hh:mm:ss with its offset, if any.
func (c clock) String() string {
	var buf [16]byte
	return string(c.append(buf[:0]))
}

func (c clock) append(b []byte) []byte {
	b = append(appendTwo(b, c.hour), ':')
	b = appendTwo(b, c.minute)
	if c.seconds {
		b = appendTwo(append(b, ':'), c.second)
	}
	switch c.zone {
	case noZone:
		return b
	case utcZone:
		return append(b, 'Z')
	}
	offset := c.offset
	if offset < 0 {
		offset = -offset
		b = append(b, '-')
	} else {
		b = append(b, '+')
	}
	b = appendTwo(b, uint8(offset/60))
	if c.zone == minuteZone {
		b = appendTwo(append(b, ':'), uint8(offset%60))
	}
	return b
}

// isValid reports whether the time exists. The 60th second is a leap second,
// which comes in the last minute of an hour or half hour only.
func (c clock) isValid() bool {
	if c.hour > 23 || c.minute > 59 || c.second > 60 {
		return false
	}
	return c.second < 60 || c.minute%30 == 29
}

// parseClock reads hh:mm:ss with an optional Z, ±hh or ±hh:mm, as EDTF has it.
func parseClock(s string) (clock, fault) {
	c := clock{set: true, seconds: true}
	if len(s) < 8 || s[2] != ':' || s[5] != ':' {
		return c, fault{at: 1, code: "time-not-read", message: "a time is hh:mm:ss"}
	}
	var ok [3]bool
	c.hour, ok[0] = twoDigits(s[0:2])
	c.minute, ok[1] = twoDigits(s[3:5])
	c.second, ok[2] = twoDigits(s[6:8])
	if !ok[0] || !ok[1] || !ok[2] || !c.isValid() {
		return c, fault{at: 1, code: "time-impossible", message: "there is no such time"}
	}
	if !c.readOffset(s[8:]) {
		return c, fault{at: 9, code: "time-offset", message: "an offset is Z, +hh or +hh:mm"}
	}
	return c, fault{}
}

// readOffset reads an offset in extended format, or nothing.
//
// Grammar: offset.
func (c *clock) readOffset(s string) bool {
	if s == "" {
		return true
	}
	if s == "Z" {
		c.zone = utcZone
		return true
	}
	if len(s) != 3 && (len(s) != 6 || s[3] != ':') || s[0] != '+' && s[0] != '-' {
		return false
	}
	hours, ok := twoDigits(s[1:3])
	if !ok || hours > 23 {
		return false
	}
	c.zone = hourZone
	c.offset = int16(hours) * 60
	if len(s) == 6 {
		minutes, ok := twoDigits(s[4:6])
		if !ok || minutes > 59 {
			return false
		}
		c.zone = minuteZone
		c.offset += int16(minutes)
	}
	if s[0] == '-' {
		if c.offset == 0 {
			return false // ISO 8601-1: zero has a plus sign
		}
		c.offset = -c.offset
	}
	return true
}

// twoDigits reads exactly two ASCII digits.
func twoDigits(s string) (uint8, bool) {
	if len(s) != 2 || !isDigit(s[0]) || !isDigit(s[1]) {
		return 0, false
	}
	return (s[0]-'0')*10 + s[1] - '0', true
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// ParseTime reads a local time with an optional offset as people write it
// ("14:30", "2.30 pm", "14h30", "kl. 14.30", "14:30+02:00") and returns it as
// hh:mm or hh:mm:ss, with Z, or ±hh:mm. Fractions of a second are dropped. A
// bare number is no time.
func ParseTime(s string) (string, error) {
	text := strings.TrimSpace(s)
	c, rest := scanTime(text)
	if !c.set || rest != "" {
		return "", &Error{Input: s, Code: "time-not-read", Part: text, At: strings.Index(s, text),
			Message: "this is not read as a time of day",
			Help:    "type hours and minutes, such as 14:30, with the offset behind it if you know it, such as 14:30+02:00"}
	}
	return c.String(), nil
}

// scanTime reads a time as people write it at the start of s, and returns what
// follows it. The clock is not set where there is none.
//
// Grammar: time.
func scanTime(s string) (clock, string) {
	none := clock{}
	rest := cutTimeWord(s)
	hour, rest, ok := cutNumber(rest, 2)
	if !ok {
		return none, s
	}
	c := clock{set: true, hour: uint8(hour)}
	trimmed := strings.TrimLeft(rest, " ")
	switch {
	case len(rest) > 1 && (rest[0] == ':' || rest[0] == '.') && isDigit(rest[1]):
		rest = rest[1:]
	case len(trimmed) > 0 && (trimmed[0] == 'h' || trimmed[0] == 'H'):
		rest = strings.TrimLeft(trimmed[1:], " ")
		if rest == "" || !isDigit(rest[0]) {
			return c.finish(rest, s)
		}
	default:
		rest, twelve := cutHalfDay(rest, &c)
		if n, _ := firstWord(trimmed, "oclock"); !twelve && n == 0 { // 14 Uhr
			return none, s
		}
		return c.finish(rest, s)
	}
	minute, rest, ok := cutNumber(rest, 2)
	if !ok || minute > 59 {
		return none, s
	}
	c.minute = uint8(minute)
	if len(rest) > 2 && (rest[0] == ':' || rest[0] == '.') && isDigit(rest[1]) && isDigit(rest[2]) {
		second, after, _ := cutNumber(rest[1:], 2)
		c.second, c.seconds, rest = uint8(second), true, after
		if len(rest) > 1 && (rest[0] == '.' || rest[0] == ',') && isDigit(rest[1]) {
			rest = strings.TrimLeft(rest[1:], "0123456789")
		}
	}
	rest, _ = cutHalfDay(rest, &c)
	return c.finish(rest, s)
}

// finish reads the offset and the word for hours behind a time.
func (c clock) finish(rest, all string) (clock, string) {
	if c.hour > 24 || !c.isValid() {
		return clock{}, all
	}
	after := strings.TrimLeft(rest, " ")
	if len(after) >= 3 && (strings.EqualFold(after[:3], "GMT") || strings.EqualFold(after[:3], "UTC")) {
		after = longOffset(after[3:]) // GMT+1
	}
	if n := offsetLength(after); n > 0 {
		c.zone = noZone
		text := after[:n]
		if len(text) == 5 && text[3] != ':' {
			text = text[:3] + ":" + text[3:]
		}
		if text == "z" {
			text = "Z"
		}
		if text == "-00:00" || text == "-00" || !c.readOffset(text) {
			return clock{}, all
		}
		if c.zone == hourZone {
			c.zone = minuteZone
		}
		if c.offset > 14*60 || c.offset < -14*60 {
			return clock{}, all
		}
		return c, after[n:]
	}
	if n, dot := firstWord(after, "oclock"); n > 0 {
		return c, after[n+dot:]
	}
	return c, rest
}

// firstWord returns the length of the word of a class that s begins with, and of the full stop behind it; else zero.
func firstWord(s, class string) (n, dot int) {
	for n < len(s) && isLetter(s[n]) {
		n++
	}
	if n == 0 || !lexicon.Says(class, s[:n]) {
		return 0, 0
	}
	if n < len(s) && s[n] == '.' {
		dot = 1
	}
	return n, dot
}

// longOffset writes the offset behind GMT or UTC with two figures: +1 as +01, and none as Z.
func longOffset(s string) string {
	if s == "" || s[0] == ' ' {
		return "Z" + s
	}
	if (s[0] == '+' || s[0] == '-') && len(s) > 1 && isDigit(s[1]) && (len(s) == 2 || !isDigit(s[2])) {
		return s[:1] + "0" + s[1:]
	}
	return s
}

// offsetLength returns the length of an offset at the start of s, or 0.
func offsetLength(s string) int {
	if s == "" {
		return 0
	}
	if s[0] == 'Z' || s[0] == 'z' {
		if len(s) == 1 || s[1] == ' ' {
			return 1
		}
		return 0
	}
	if s[0] != '+' && s[0] != '-' {
		return 0
	}
	for _, n := range [...]int{6, 5, 3} {
		if len(s) < n || len(s) > n && isDigit(s[n]) || !isDigit(s[1]) || !isDigit(s[2]) {
			continue
		}
		switch {
		case n == 6 && s[3] == ':' && isDigit(s[4]) && isDigit(s[5]),
			n == 5 && isDigit(s[3]) && isDigit(s[4]), n == 3:
			return n
		}
	}
	return 0
}

// cutHalfDay reads am or pm and moves the hour accordingly.
func cutHalfDay(s string, c *clock) (string, bool) {
	rest := strings.TrimLeft(s, " ")
	if rest == "" || c.hour < 1 || c.hour > 12 {
		return s, false
	}
	half := rest[0] | 0x20
	if half != 'a' && half != 'p' {
		return s, false
	}
	rest = strings.TrimPrefix(rest[1:], ".")
	if rest == "" || rest[0]|0x20 != 'm' {
		return s, false
	}
	rest = strings.TrimPrefix(rest[1:], ".")
	if rest != "" && isLetter(rest[0]) {
		return s, false
	}
	c.hour %= 12
	if half == 'p' {
		c.hour += 12
	}
	return rest, true
}

// cutTimeWord drops the words that announce a time.
func cutTimeWord(s string) string {
	if rest, at := strings.CutPrefix(s, "@"); at {
		return strings.TrimLeft(rest, " ")
	}
	if n, dot := firstWord(s, "at-time"); n > 0 && len(s) > n+1 && (dot > 0 || s[n] == ' ') {
		return strings.TrimLeft(s[n+dot:], " ")
	}
	return s
}

// cutNumber reads up to most digits from the start of s; more are a failure.
func cutNumber(s string, most int) (n int, rest string, ok bool) {
	i := 0
	for i < len(s) && isDigit(s[i]) {
		if i == most {
			return 0, s, false
		}
		n = n*10 + int(s[i]-'0')
		i++
	}
	return n, s[i:], i > 0
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80 }
