package schema

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// A Node is one schema, or a part of one, with what the published schemas use of JSON Schema
// 2020-12. Members that are not given have their zero value; for limits that is nil.
type Node struct {
	ID          string `json:"$id"`
	Dialect     string `json:"$schema"`
	Title       string `json:"title"`
	Description string `json:"description"`
	Ref         string `json:"$ref"`
	Target      *Node  `json:"-"` // the schema that Ref names
	Never       bool   `json:"-"` // the schema false, which nothing satisfies

	Type     string         `json:"type"`
	Enum     []string       `json:"enum"`
	Const    jsontext.Value `json:"const"`
	Pattern  string         `json:"pattern"`
	Format   string         `json:"format"`
	Examples []string       `json:"examples"`

	Minimum          *float64 `json:"minimum"`
	Maximum          *float64 `json:"maximum"`
	ExclusiveMinimum *float64 `json:"exclusiveMinimum"`
	ExclusiveMaximum *float64 `json:"exclusiveMaximum"`
	MinLength        *int     `json:"minLength"`
	MaxLength        *int     `json:"maxLength"`
	MinItems         *int     `json:"minItems"`
	MaxItems         *int     `json:"maxItems"`
	MinProperties    *int     `json:"minProperties"`
	MaxProperties    *int     `json:"maxProperties"`

	Properties           Members             `json:"properties"`
	Required             []string            `json:"required"`
	DependentRequired    map[string][]string `json:"dependentRequired"`
	PropertyNames        *Node               `json:"propertyNames"`
	AdditionalProperties *Node               `json:"additionalProperties"`
	Items                *Node               `json:"items"`
	PrefixItems          []*Node             `json:"prefixItems"`

	AnyOf []*Node `json:"anyOf"`
	OneOf []*Node `json:"oneOf"`
	AllOf []*Node `json:"allOf"`
	Not   *Node   `json:"not"`
	If    *Node   `json:"if"`
	Then  *Node   `json:"then"`
	Else  *Node   `json:"else"`

	Trial   bool   `json:"x-trial"`
	Private bool   `json:"x-private"`
	Form    string `json:"x-form"`
	Since   string `json:"x-since"`
	List    string `json:"x-list"`    // the code list that its codes are from
	Sharing string `json:"x-sharing"` // the class that says who may see it

	Defs Members `json:"$defs"`
}

// A Member is one named schema: a member of an object, or a shape in $defs.
type Member struct {
	Name string
	Node *Node
}

// Members are named schemas in the order in which they are written.
type Members []Member

// Get returns the schema with the name, or nil.
func (m Members) Get(name string) *Node {
	for i := range m {
		if m[i].Name == name {
			return m[i].Node
		}
	}
	return nil
}

// Names returns the names in order.
func (m Members) Names() []string {
	names := make([]string, len(m))
	for i := range m {
		names[i] = m[i].Name
	}
	return names
}

// UnmarshalJSONFrom reads an object and keeps the order of its members.
func (m *Members) UnmarshalJSONFrom(dec *jsontext.Decoder) error {
	if k := dec.PeekKind(); k != '{' {
		return &json.SemanticError{JSONKind: k}
	}
	if _, err := dec.ReadToken(); err != nil {
		return err
	}
	for dec.PeekKind() == '"' {
		name, err := dec.ReadToken()
		if err != nil {
			return err
		}
		member := Member{Name: name.String(), Node: new(Node)}
		if err := json.UnmarshalDecode(dec, member.Node); err != nil {
			return err
		}
		*m = append(*m, member)
	}
	_, err := dec.ReadToken()
	return err
}

// UnmarshalJSONFrom reads a schema; true is the empty one, false sets Never.
func (n *Node) UnmarshalJSONFrom(dec *jsontext.Decoder) error {
	switch dec.PeekKind() {
	case 't', 'f':
		token, err := dec.ReadToken()
		*n = Node{Never: err == nil && !token.Bool()}
		return err
	}
	type plain Node
	return json.UnmarshalDecode(dec, (*plain)(n))
}

// Follow returns the schema that holds the keywords of n: n itself, or what its $ref leads to.
// Follow of nil is nil.
func (n *Node) Follow() *Node {
	for hops := 0; n != nil && n.Target != nil && hops < 16; hops++ {
		n = n.Target
	}
	return n
}

// Child returns the schema of the member of an object or the entry of a list that the token of a
// JSON Pointer names, or nil if the schema does not describe it.
func (n *Node) Child(token string) *Node {
	n = n.Follow()
	if n == nil {
		return nil
	}
	if member := n.Properties.Get(token); member != nil {
		return member
	}
	if i, err := strconv.Atoi(token); err == nil && i >= 0 {
		if i < len(n.PrefixItems) {
			return n.PrefixItems[i]
		}
		if n.Items != nil {
			return n.Items
		}
	}
	if a := n.AdditionalProperties; a != nil && !a.Never {
		return a
	}
	return nil
}

// At returns the schema at a JSON Pointer within the document of n, such as /$defs/term, or nil.
func (n *Node) At(pointer string) *Node {
	tokens := strings.Split(strings.TrimPrefix(pointer, "/"), "/")
	if pointer == "" {
		tokens = nil
	}
	for len(tokens) > 0 && n != nil {
		keyword, rest := tokens[0], tokens[1:]
		argument := ""
		if len(rest) > 0 {
			argument = strings.NewReplacer("~1", "/", "~0", "~").Replace(rest[0])
		}
		tokens = rest
		if named, ok := n.named(keyword); ok {
			n, tokens = named.Get(argument), tail(rest)
		} else if list, ok := n.listed(keyword); ok {
			n, tokens = nth(list, argument), tail(rest)
		} else {
			n = n.single(keyword)
		}
	}
	return n
}

func (n *Node) named(keyword string) (Members, bool) {
	switch keyword {
	case "properties":
		return n.Properties, true
	case "$defs":
		return n.Defs, true
	}
	return nil, false
}

func (n *Node) listed(keyword string) ([]*Node, bool) {
	switch keyword {
	case "anyOf":
		return n.AnyOf, true
	case "oneOf":
		return n.OneOf, true
	case "allOf":
		return n.AllOf, true
	case "prefixItems":
		return n.PrefixItems, true
	}
	return nil, false
}

func (n *Node) single(keyword string) *Node {
	switch keyword {
	case "items":
		return n.Items
	case "propertyNames":
		return n.PropertyNames
	case "additionalProperties":
		return n.AdditionalProperties
	case "not":
		return n.Not
	case "if":
		return n.If
	case "then":
		return n.Then
	case "else":
		return n.Else
	}
	return nil
}

func tail(tokens []string) []string {
	if len(tokens) == 0 {
		return nil
	}
	return tokens[1:]
}

func nth(list []*Node, index string) *Node {
	i, err := strconv.Atoi(index)
	if err != nil || i < 0 || i >= len(list) {
		return nil
	}
	return list[i]
}

// Walk calls visit for n and every schema within it, in the order of the keywords of Node; it does
// not follow $ref. Walk of nil does nothing.
func (n *Node) Walk(visit func(*Node)) {
	if n == nil {
		return
	}
	visit(n)
	for _, m := range n.Properties {
		m.Node.Walk(visit)
	}
	for _, one := range []*Node{n.PropertyNames, n.AdditionalProperties, n.Items} {
		one.Walk(visit)
	}
	for _, list := range [][]*Node{n.PrefixItems, n.AnyOf, n.OneOf, n.AllOf} {
		for _, one := range list {
			one.Walk(visit)
		}
	}
	for _, one := range []*Node{n.Not, n.If, n.Then, n.Else} {
		one.Walk(visit)
	}
	for _, m := range n.Defs {
		m.Node.Walk(visit)
	}
}

// Read reads schemas that may refer to each other and returns them by their identifiers, with every
// $ref tied to its target. A reference that leads outside the schemas given is an error: nothing is
// fetched.
func Read(texts ...[]byte) (map[string]*Node, error) {
	all := make(map[string]*Node, len(texts))
	for i, text := range texts {
		root := new(Node)
		if err := json.Unmarshal(text, root); err != nil {
			return nil, fmt.Errorf("reading schema %d: %w", i+1, err)
		}
		if root.ID == "" {
			return nil, fmt.Errorf("reading schema %d: no $id", i+1)
		}
		all[root.ID] = root
	}
	for id, root := range all {
		base, err := url.Parse(id)
		if err != nil {
			return nil, fmt.Errorf("reading schema %s: %w", id, err)
		}
		var failed error
		root.Walk(func(n *Node) {
			if n.Ref == "" || failed != nil {
				return
			}
			if n.Target = target(all, base, n.Ref); n.Target == nil {
				failed = fmt.Errorf("reading schema %s: $ref %q leads nowhere", id, n.Ref)
			}
		})
		if failed != nil {
			return nil, failed
		}
	}
	return all, nil
}

func target(all map[string]*Node, base *url.URL, ref string) *Node {
	u, err := base.Parse(ref)
	if err != nil {
		return nil
	}
	fragment := u.Fragment
	u.Fragment = ""
	root, ok := all[u.String()]
	if !ok {
		return nil
	}
	return root.At(fragment)
}
