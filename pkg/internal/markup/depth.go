package markup

import "strings"

// depth counts how deep elements stand in each other, byte by byte and before the XML decoder sees
// them: the decoder keeps a record of every element that is open, and takes as many as come.
type depth struct {
	open  int64
	empty bool // the byte ended an element without content, which stood in those that are open
	most  int64
	where place
	until string  // what ends the comment, section or instruction
	tail  [3]byte // the latest bytes of it
	seen  string  // the first bytes of the tag
	mark  byte    // the quotation mark that is open within a tag, 0: none
	last  byte
}

type place byte

const (
	inText place = iota
	inTag
	inOther // a comment, a CDATA section, an instruction or a declaration
)

// add takes the next byte and returns how many elements are open.
func (d *depth) add(c byte) int64 {
	d.empty = false
	switch d.where {
	case inText:
		if c == '<' {
			d.where, d.seen, d.mark, d.last = inTag, "", 0, 0
		}
	case inOther:
		d.tail = [3]byte{d.tail[1], d.tail[2], c}
		if c == '>' && strings.HasSuffix(string(d.tail[:]), d.until) {
			d.where = inText
		}
	case inTag:
		d.inTag(c)
	}
	return d.open
}

// tooDeep takes the next byte and reports whether more elements stand in each other than may.
func (d *depth) tooDeep(c byte) bool {
	open := d.add(c)
	return open > d.most || d.empty && open == d.most
}

func (d *depth) inTag(c byte) {
	if c != '>' && (d.seen == "" || d.seen[0] == '!' && len(d.seen) < len("![CDATA[")) {
		d.seen += string(rune(c))
		if other, ok := d.isOther(); ok {
			d.where, d.until, d.tail = inOther, other, [3]byte{}
			return
		}
	}
	switch {
	case d.mark != 0:
		if c == d.mark {
			d.mark = 0
		}
	case c == '"' || c == '\'':
		d.mark = c
	case c == '>':
		d.where = inText
		switch {
		case strings.HasPrefix(d.seen, "/"):
			d.open = max(d.open-1, 0)
		case d.last != '/':
			d.open++
		default:
			d.empty = true
		}
	}
	d.last = c
}

// isOther reports whether the tag has turned out to be no element, and what ends it then (XML 1.0
// sections 2.5 to 2.8).
func (d *depth) isOther() (end string, ok bool) {
	switch {
	case d.seen == "?":
		return "?>", true
	case d.seen == "!--":
		return "-->", true
	case d.seen == "![CDATA[":
		return "]]>", true
	case d.seen[0] == '!' && !strings.HasPrefix("!--", d.seen) && !strings.HasPrefix("![CDATA[", d.seen):
		return ">", true
	}
	return "", false
}
