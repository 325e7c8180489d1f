package schemacheck

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

// spot is a place in a text, seen with the eyes of the schema.
type spot struct {
	node    *schema.Node // the schema of the member as it stands there; nil where none describes it
	label   string       // titles on the way: Materials 2, Code
	private bool         // no message may quote the value
}

// visit walks from the root of the schema to a place.
func (e *engine) visit(instance []string) spot {
	s := spot{node: e.root, private: hiddenValue(e.root)}
	var titles []string
	for _, token := range instance {
		title := ""
		if s.node != nil {
			list := s.node.Follow()
			s.node = s.node.Child(token)
			s.private = s.private || hiddenValue(s.node)
			switch {
			case len(titles) > 0 && list.Type == "array" && len(list.PrefixItems) == 0:
				titles[len(titles)-1] += " " + entryNumber(token)
				continue
			case s.node != nil && list.AdditionalProperties != s.node:
				title = s.node.Title
			}
		}
		if title != "" {
			titles = append(titles, title)
		}
	}
	if len(titles) == 0 {
		titles = []string{e.root.Title}
	}
	s.label = strings.Join(titles, ", ")
	return s
}

// hiddenValue reports whether the schema, or what it refers to, marks its value as private.
func hiddenValue(n *schema.Node) bool {
	for hops := 0; n != nil && hops < 16; n, hops = n.Target, hops+1 {
		if n.Private {
			return true
		}
	}
	return false
}

// entryNumber counts from 1, as people do.
func entryNumber(token string) string {
	i, err := strconv.Atoi(token)
	if err != nil {
		return token
	}
	return strconv.Itoa(i + 1)
}

// tell puts a fault into words. A fault in required is reported once for each missing member.
func (e *engine) tell(f fault, value any) []SchemaError {
	place := e.visit(f.instance)
	found, _ := lookUp(value, f.instance)
	if f.name && len(f.instance) > 0 {
		place = e.visit(f.instance[:len(f.instance)-1])
		found = f.instance[len(f.instance)-1]
	}
	out := SchemaError{Pointer: f.pointer, Keyword: f.keyword, SchemaPath: f.document + "#" + f.path}
	if f.keyword == "required" || f.keyword == "dependentRequired" || f.keyword == "additionalProperties" {
		return e.tellMembers(f, place, found, out)
	}
	wording := wordsFor(f, place, found)
	out.Code, out.Help = wording.code, wording.help
	out.Message = place.label + ": " + wording.message
	return []SchemaError{out}
}

// wording is what a message says, without the place.
type wording struct{ code, message, help string }

// wordsFor says what is wrong with a value.
func wordsFor(f fault, place spot, found any) wording {
	owner := f.owner
	shown := showValue(found, place.private)
	if f.name {
		shown = "the name " + quoteText(fmt.Sprint(found))
		if place.private {
			shown = "a name in it"
		}
	}
	switch f.keyword {
	case "type":
		return wording{kinds.SchemaType.Code, wrongType(owner, found, place.private), helpType(f, place, found)}
	case "enum", "const":
		return wrongChoice(owner, shown, found, place.private)
	case "pattern":
		s := wording{kinds.SchemaPattern.Code, shown + " is not in the form expected", ""}
		if owner.Form != "" {
			s.message += ": " + owner.Form
		}
		if len(owner.Examples) > 0 {
			s.help = "Write it like this: " + owner.Examples[0]
		}
		return s
	case "format":
		s := wording{kinds.SchemaPattern.Code, shown + " is not " + formatName(owner.Format), ""}
		if len(owner.Examples) > 0 {
			s.help = "Write it like this: " + owner.Examples[0]
		}
		return s
	case "anyOf", "oneOf":
		return wording{kinds.SchemaRequired.Code, choiceOf(place, owner, slices.Concat(owner.AnyOf, owner.OneOf)), ""}
	case "not":
		return wording{kinds.SchemaForbidden.Code, "this may not stand here", helpForbidden(place)}
	}
	if s, ok := wrongSize(f.keyword, owner, shown); ok {
		return s
	}
	return wording{kinds.SchemaOther.Code, fmt.Sprintf("it does not satisfy %q of the schema", f.keyword), ""}
}

func helpForbidden(place spot) string {
	if place.node != nil && place.node.Description != "" {
		return place.node.Description
	}
	return ""
}

// tellMembers tells which members are missing, or may not stand there, from the schema and the text,
// because the engine names them only in its own words and in changing order.
func (e *engine) tellMembers(f fault, place spot, found any, out SchemaError) []SchemaError {
	object, _ := found.(map[string]any)
	var list []SchemaError
	add := func(code, message, help string) {
		next := out
		next.Code, next.Message, next.Help = code, place.label+": "+message, help
		list = append(list, next)
	}
	switch f.keyword {
	case "required":
		for _, name := range f.owner.Required {
			if _, ok := object[name]; !ok {
				add(kinds.SchemaRequired.Code, naming(place, f.owner, name)+" is missing", helpMissing(place, f.owner, name))
			}
		}
	case "dependentRequired":
		for _, name := range dependents(f.owner, object) {
			add(kinds.SchemaRequired.Code, naming(place, f.owner, name)+" is missing beside the rest",
				helpMissing(place, f.owner, name))
		}
	case "additionalProperties":
		for _, name := range sortedNames(object) {
			if f.owner.Properties.Get(name) == nil {
				add(kinds.SchemaForbidden.Code, quoteText(name)+" may not stand here", "")
			}
		}
	}
	return list
}

// dependents returns the names that are missing because of others that are given, sorted.
func dependents(owner *schema.Node, object map[string]any) []string {
	var names []string
	for given, wanted := range owner.DependentRequired {
		if _, ok := object[given]; !ok {
			continue
		}
		for _, name := range wanted {
			if _, ok := object[name]; !ok && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	slices.Sort(names)
	return names
}

func sortedNames(object map[string]any) []string {
	names := make([]string, 0, len(object))
	for name := range object {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// naming names a member by its title and its name: Unit (unit).
func naming(place spot, owner *schema.Node, name string) string {
	if n := memberOf(place, owner, name); n != nil && n.Title != "" {
		return fmt.Sprintf("%s (%s)", n.Title, name)
	}
	return quoteText(name)
}

// memberOf finds the schema of a member: in the owner of the keyword, else in that of the place.
func memberOf(place spot, owner *schema.Node, name string) *schema.Node {
	if n := owner.Properties.Get(name); n != nil && n.Title != "" {
		return n
	}
	if place.node != nil {
		return place.node.Follow().Properties.Get(name)
	}
	return nil
}

// helpMissing says what to type: the one value there is, or a specimen.
func helpMissing(place spot, owner *schema.Node, name string) string {
	n := memberOf(place, owner, name)
	if n == nil {
		return ""
	}
	shape := n.Follow()
	switch {
	case len(shape.Enum) == 1:
		return fmt.Sprintf("Add %q: %q.", name, shape.Enum[0])
	case len(shape.Enum) > 1:
		return fmt.Sprintf("Add %q with one of: %s.", name, strings.Join(shape.Enum, ", "))
	case len(n.Examples) > 0:
		return fmt.Sprintf("Add it like this: %q: %q", name, n.Examples[0])
	case len(shape.Examples) > 0:
		return fmt.Sprintf("Add it like this: %q: %q", name, shape.Examples[0])
	}
	return fmt.Sprintf("Add %q: %s", name, n.Description)
}

// choiceOf says that one of several members is needed, or that none of several forms fits.
func choiceOf(place spot, owner *schema.Node, branches []*schema.Node) string {
	var names []string
	for _, b := range branches {
		if len(b.Required) != 1 || b.Type != "" || len(b.Properties) > 0 || b.Ref != "" {
			return "it fits none of the forms that may stand here"
		}
		names = append(names, naming(place, owner, b.Required[0]))
	}
	return "it needs at least one of " + either(names)
}

// either writes a list with commas and a last or.
func either(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " or " + names[len(names)-1]
}

var typeWords = map[string]string{
	"string": "text", "number": "a number", "integer": "a whole number", "boolean": "true or false",
	"array": "a list", "object": "an object", "null": "null",
}

// sortOf names the sort of a decoded value in the words of JSON Schema.
func sortOf(v any) string {
	switch v.(type) {
	case nil:
		return "null"
	case bool:
		return "boolean"
	case float64:
		return "number"
	case string:
		return "string"
	case []any:
		return "array"
	}
	return "object"
}

// wrongType says that a value is of another sort than the schema asks for. Text that stands where a
// whole object belongs may be a name or an address, so it is only repeated where the object is one
// that holds words of the finder about the find.
func wrongType(owner *schema.Node, found any, private bool) string {
	expected, ok := typeWords[owner.Type]
	if !ok {
		expected = "another sort of value"
	}
	got := sortOf(found)
	text := fmt.Sprintf("%s is expected, but %s stands here", expected, typeWords[got])
	switch {
	case private || got == "string" && !mayRepeat(owner):
	case got == "number" || got == "string":
		text = fmt.Sprintf("%s is expected, but the %s %s stands here", expected, strings.TrimPrefix(typeWords[got], "a "),
			showValue(found, false))
	case got == "boolean":
		text = fmt.Sprintf("%s is expected, but %v stands here", expected, found)
	}
	return text
}

// mayRepeat reports whether text that stands in place of what the schema describes may be repeated.
func mayRepeat(owner *schema.Node) bool {
	switch n := owner.Follow(); n.Type {
	case "object":
		return n.Properties.Get("verbatim") != nil
	case "array":
		return n.Items != nil && !hiddenValue(n.Items) && n.Items.Follow().Type == "object" && mayRepeat(n.Items)
	}
	return true
}

// helpType says what to type in place of a value of the wrong sort.
func helpType(f fault, place spot, found any) string {
	shown := "..."
	if text, ok := found.(string); ok && !place.private && utf8.RuneCountInString(text) <= longestQuote {
		shown = text
	}
	got := sortOf(found)
	switch want := f.owner.Type; {
	case got == "null":
		name := "member"
		if len(f.instance) > 0 {
			name = f.instance[len(f.instance)-1]
		}
		return fmt.Sprintf("Leave it out, or say why it is missing: \"absent\": {%s: \"not-noted\"}.",
			quoteText("/"+notice.Escape(name)))
	case want == "object" && (got == "string" || got == "number") && f.owner.Properties.Get("verbatim") != nil:
		if n, ok := found.(float64); ok && !place.private {
			shown = showNumber(n)
		}
		return fmt.Sprintf("Write it in braces: {\"verbatim\": %s}.", quoteText(shown))
	case want == "object":
		return "Write its members in braces: {...}."
	case want == "array":
		return "Put it in square brackets: [...]."
	case want == "string" && got == "number":
		if n, ok := found.(float64); ok && !place.private {
			shown = showNumber(n)
		}
		return fmt.Sprintf("Put it in double quotes: %s.", quoteText(shown))
	case (want == "number" || want == "integer") && got == "string":
		return "Write the number without quotes, with a point for decimals."
	case want == "integer" && got == "number":
		return "Write a whole number, without decimals."
	case want == "boolean":
		return "Write true or false, without quotes."
	}
	return ""
}

// wrongChoice says that a value is not in a closed list, and which entry is nearest.
func wrongChoice(owner *schema.Node, shown string, found any, private bool) wording {
	if len(owner.Enum) == 0 {
		return wording{kinds.SchemaEnum.Code, shown + " is not the value that must stand here", ""}
	}
	s := wording{kinds.SchemaEnum.Code, fmt.Sprintf("%s is not one of: %s", shown, strings.Join(owner.Enum, ", ")), ""}
	if len(owner.Enum) == 1 {
		s.message = fmt.Sprintf("%s is not %s", shown, owner.Enum[0])
		s.help = fmt.Sprintf("Write %q.", owner.Enum[0])
		return s
	}
	if text, ok := found.(string); ok && !private {
		if near := nearestName(text, owner.Enum); near != "" {
			s.help = fmt.Sprintf("Did you mean %q?", near)
		}
	}
	return s
}

func formatName(format string) string {
	switch format {
	case "date":
		return "a day of the calendar, written YYYY-MM-DD"
	case "date-time":
		return "a moment, written YYYY-MM-DDThh:mm:ss with Z or an offset such as +01:00"
	case "uri":
		return "a full web address or other URI"
	}
	return "in the format " + format
}

// wrongSize says that a number, a text or a list is too small or too large.
func wrongSize(keyword string, n *schema.Node, shown string) (wording, bool) {
	number := func(v *float64, text string) (wording, bool) {
		if v == nil {
			return wording{}, false
		}
		return wording{kinds.SchemaRange.Code, fmt.Sprintf(text, shown, showNumber(*v)), ""}, true
	}
	count := func(v *int, zero, text string) (wording, bool) {
		if v == nil {
			return wording{}, false
		}
		if *v == 1 && zero != "" {
			return wording{kinds.SchemaPattern.Code, zero, ""}, true
		}
		return wording{kinds.SchemaPattern.Code, fmt.Sprintf(text, *v), ""}, true
	}
	switch keyword {
	case "minimum":
		return number(n.Minimum, "%s is too small; the least is %s")
	case "maximum":
		return number(n.Maximum, "%s is too large; the most is %s")
	case "exclusiveMinimum":
		return number(n.ExclusiveMinimum, "%s is too small; it must be more than %s")
	case "exclusiveMaximum":
		return number(n.ExclusiveMaximum, "%s is too large; it must be less than %s")
	case "minLength":
		return count(n.MinLength, "the text is empty", "the text is too short; it must have at least %d characters")
	case "maxLength":
		return count(n.MaxLength, "", "the text is too long; at most %d characters are kept")
	case "minItems":
		return count(n.MinItems, "the list is empty", "the list is too short; it must have at least %d entries")
	case "maxItems":
		return count(n.MaxItems, "", "the list is too long; it may have at most %d entries")
	case "minProperties":
		return count(n.MinProperties, "the object is empty", "the object must have at least %d members")
	case "maxProperties":
		return count(n.MaxProperties, "", "the object has too many members; it may have at most %d")
	}
	return wording{}, false
}

const longestQuote = 40 // characters of a value that a message repeats

// showValue quotes a short scalar value, or says what stands there without quoting it.
func showValue(v any, private bool) string {
	switch v := v.(type) {
	case string:
		if private {
			return "the text"
		}
		return quoteText(v)
	case float64:
		if private {
			return "the number"
		}
		return showNumber(v)
	case bool:
		if !private {
			return strconv.FormatBool(v)
		}
	}
	return "the value"
}

// quoteText puts text in double quotes, cut where it is long and with unprintable characters shown
// as escapes.
func quoteText(s string) string {
	if utf8.RuneCountInString(s) > longestQuote {
		s = string([]rune(s)[:longestQuote]) + "…"
	}
	if strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return strconv.Quote(s)
	}
	return `"` + s + `"`
}

// showNumber writes a number without exponent where that stays readable.
func showNumber(f float64) string {
	if a := math.Abs(f); a != 0 && (a < 1e-9 || a >= 1e15) {
		return strconv.FormatFloat(f, 'g', -1, 64)
	}
	return strconv.FormatFloat(f, 'f', -1, 64)
}
