package find

import (
	"strconv"
	"strings"
	"unicode"

	"github.com/google/uuid"
	"golang.org/x/text/unicode/norm"
)

// Namespaces for ids that are made from names: UUID version 5 (RFC 9562 section 5.5) in the URL
// namespace (RFC 9562 section 6.6).
var (
	findNamespace   = uuid.NewSHA1(uuid.NameSpaceURL, []byte("https://w3id.org/findslip/1/find"))
	reportNamespace = uuid.NewSHA1(uuid.NameSpaceURL, []byte("https://w3id.org/findslip/1/report"))
)

const urnPrefix = "urn:uuid:"

// FoldNumber brings the number on a bag to the form in which two numbers are compared: NFKC,
// trimmed, inner blanks one, lower case, leading zeros off each run of digits. "007", " 7 " and
// "7" are one number.
func FoldNumber(s string) string {
	s = strings.Join(strings.Fields(norm.NFKC.String(s)), " ")
	s = strings.ToLower(s)
	var b strings.Builder
	b.Grow(len(s))
	for i := 0; i < len(s); {
		j := i
		for j < len(s) && s[j] >= '0' && s[j] <= '9' {
			j++
		}
		if j == i {
			b.WriteByte(s[i])
			i++
			continue
		}
		run := strings.TrimLeft(s[i:j], "0")
		if run == "" {
			run = "0"
		}
		b.WriteString(run)
		i = j
	}
	return b.String()
}

// FindID makes the id of a find from the id of its report and the number on its bag.
func FindID(report, number string) string { return makeFindID(report, FoldNumber(number)) }

// GroundFindID makes the id of a find of whose number an earlier find of another permission has the same, as where each
// field is numbered from 1: of the name of its field as well.
func GroundFindID(report, number, ground string) string {
	return makeFindID(report, FoldNumber(number)+"\n"+ground)
}

// UnnumberedFindID makes the id of a find without a number from its day, place and name as
// written and its position, from 1, among those that are equal in all three.
func UnnumberedFindID(report, date, place, name string, ordinal int) string {
	return makeFindID(report, strings.Join([]string{"", date, place, name, strconv.Itoa(ordinal)}, "\n"))
}

func makeFindID(report, rest string) string {
	report = strings.TrimPrefix(strings.ToLower(report), urnPrefix)
	return urnPrefix + uuid.NewSHA1(findNamespace, []byte(report+"\n"+rest)).String()
}

// ReportIDFromName makes the id of a report from the base name of its file, for want of a better
// one: the report then says idBasis file-name, because another report may bear the same name.
func ReportIDFromName(base string) string {
	if i := strings.IndexByte(base, '.'); i > 0 {
		base = base[:i]
	}
	return urnPrefix + uuid.NewSHA1(reportNamespace, []byte(FoldNumber(base))).String()
}

// NewReportID mints a random id.
func NewReportID() string { return urnPrefix + uuid.NewString() }

// IsURN reports whether s is the URN of a UUID as this format writes it: lower case, with hyphens.
func IsURN(s string) bool {
	rest, ok := strings.CutPrefix(s, urnPrefix)
	if !ok || len(rest) != 36 {
		return false
	}
	for i := 0; i < len(rest); i++ {
		c := rest[i]
		if i == 8 || i == 13 || i == 18 || i == 23 {
			if c != '-' {
				return false
			}
		} else if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

// IsLocalID reports whether s has the form of a local id: ^[a-z][a-z0-9-]{0,31}$.
func IsLocalID(s string) bool {
	if len(s) == 0 || len(s) > 32 || s[0] < 'a' || s[0] > 'z' {
		return false
	}
	for i := 1; i < len(s); i++ {
		c := s[i]
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			return false
		}
	}
	return true
}

// FoldName brings a name that people repeat from row to row to the form in which two are compared.
func FoldName(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return -1
		}
		return r
	}, strings.ToLower(strings.Join(strings.Fields(norm.NFKC.String(s)), " ")))
}
