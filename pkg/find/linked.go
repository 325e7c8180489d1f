package find

import (
	"bufio"
	"bytes"
	"io"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/schema"
)

// What the objects under a member are, as classes of CIDOC CRM, Darwin Core and Dublin Core where these have one
// (testdata/reference/terms.csv), else of our own.
var classes = map[string]string{"people": "crm:E39_Actor", "permissions": "fs:Permission", "outings": "dwc:Event",
	"found": "dwc:Event", "place": "crm:E53_Place", "position": "fs:Position", "otherPositions": "fs:Position",
	"condition": "crm:E3_Condition_State", "identification": "dwc:Identification", "opinions": "dwc:Identification",
	"dating": "dcterms:PeriodOfTime", "otherDatings": "dcterms:PeriodOfTime", "media": "crm:E36_Visual_Item",
	"marks": "crm:E36_Visual_Item", "associated": "dwc:ResourceRelationship",
	"depth": dimension, "otherDepths": dimension, "weight": dimension, "count": dimension, "length": dimension,
	"width": dimension, "height": dimension, "thickness": dimension, "diameter": dimension, "ploughDepth": dimension,
	"maxDepth": dimension}

const dimension = "crm:E54_Dimension"

// whole are the members that go out as JSON, and are not looked into.
var whole = map[string]bool{"absent": true, "generalised": true, "extensions": true, "columns": true, "area": true,
	"excluded": true, "says": true, "supplied": true}

// refers are the members that hold the id of a person, a permission or an outing of the report.
var refers = map[string]bool{"finder": true, "permission": true, "outing": true, "keeper": true, "by": true,
	"person": true, "from": true, "to": true, "grantedBy": true, "occupier": true, "people": true}

// EncodeLinked writes a report as JSON-LD 1.1 that needs nothing else: it carries its context, its nodes say what they
// are, and people, permissions and outings are nodes to which the finds lead. It is made for graphs; no reader of
// reports takes it.
func EncodeLinked(w io.Writer, s *Stream) error {
	var context struct {
		Of jsontext.Value `json:"@context"`
	}
	if err := json.Unmarshal(schema.Context(), &context); err != nil {
		return err
	}
	if err := context.Of.Compact(); err != nil {
		return err
	}
	l := &linker{base: "_:", local: map[string]bool{}}
	if s.Report.ID != "" {
		l.base = s.Report.ID + "#" // a URN may have a fragment (RFC 8141, section 2.3.3)
	}
	for i := range s.Report.People {
		l.local[s.Report.People[i].ID] = true
	}
	for i := range s.Report.Permissions {
		l.local[s.Report.Permissions[i].ID] = true
	}
	for i := range s.Report.Outings {
		l.local[s.Report.Outings[i].ID] = true
	}
	head := *s.Report
	head.Schema, head.Context = "", "" // paths of this machine, and the name of what is carried
	raw, err := CanonicalHeader(&head)
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 1<<16)
	out.WriteString(`{"@context":` + string(context.Of) + `,"@type":"fs:Report",`)
	text, err := l.object(raw, "")
	if err != nil {
		return err
	}
	out.Write(text[1 : len(text)-1])
	out.WriteString(`,"finds":[`)
	between := "\n"
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find == nil {
			continue
		}
		if raw, err = Marshal(e.Find); err != nil {
			return err
		}
		if text, err = l.object(raw, "finds"); err != nil {
			return err
		}
		out.WriteString(between + `{"@type":["fs:Find","crm:E22_Human-Made_Object","dwc:MaterialEntity"],`)
		out.Write(text[1:])
		between = ",\n"
	}
	out.WriteString("\n]}\n")
	return out.Flush()
}

// linker puts types and links into the JSON of a record.
type linker struct {
	base  string          // before the local ids, in the names of their nodes
	local map[string]bool // ids that mean something within this report only
	out   *jsontext.Encoder
	in    *jsontext.Decoder
}

func (l *linker) object(raw jsontext.Value, member string) ([]byte, error) {
	var b bytes.Buffer
	l.out, l.in = jsontext.NewEncoder(&b), jsontext.NewDecoder(bytes.NewReader(raw))
	err := l.value(member)
	return bytes.TrimSpace(b.Bytes()), err
}

// value copies the value of a member.
func (l *linker) value(member string) error {
	kind := l.in.PeekKind()
	if whole[member] || kind != '{' && kind != '[' {
		v, err := l.in.ReadValue()
		if err != nil {
			return err
		}
		if id := ""; kind == '"' && refers[member] && json.Unmarshal(v, &id) == nil && l.local[id] {
			v = jsontext.Value(`{"@id":"` + l.base + id + `"}`)
		}
		return l.out.WriteValue(v)
	}
	if err := l.copy(); err != nil {
		return err
	}
	if class := classes[member]; kind == '{' && class != "" {
		if err := l.write("@type", class); err != nil {
			return err
		}
	}
	for l.in.PeekKind() != '}' && l.in.PeekKind() != ']' {
		name := member
		if kind == '{' {
			token, err := l.in.ReadToken()
			if err != nil {
				return err
			}
			if name = token.String(); name == "id" && (member == "people" || member == "permissions" || member == "outings") {
				if err := l.node(); err != nil {
					return err
				}
				continue
			}
			if err := l.out.WriteToken(jsontext.String(name)); err != nil {
				return err
			}
			if member == "notified" {
				name = "" // whom a find was reported to is in words
			}
		}
		if err := l.value(name); err != nil {
			return err
		}
	}
	return l.copy()
}

// node writes the local id of a person, a permission or an outing, and the name of its node.
func (l *linker) node() error {
	token, err := l.in.ReadToken()
	if err != nil {
		return err
	}
	id := token.String()
	if err := l.write("@id", l.base+id); err != nil {
		return err
	}
	return l.write("id", id)
}

func (l *linker) write(name, text string) error {
	if err := l.out.WriteToken(jsontext.String(name)); err != nil {
		return err
	}
	return l.out.WriteToken(jsontext.String(text))
}

func (l *linker) copy() error {
	token, err := l.in.ReadToken()
	if err != nil {
		return err
	}
	return l.out.WriteToken(token)
}
