package validate

import (
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/vocabulary"
)

var codeRules = []*Rule{codeOwn, codeNotListed}

var codeOwn = &Rule{
	Kind:   kinds.CodeOwn,
	Check:  func(c *Case, say Say) { eachOddCode(c, sayLocal(say)) },
	Header: func(c *Case, say Say) { eachOddCodeOfReport(c.Report, sayLocal(say)) },
}

func sayLocal(say Say) func(list *vocabulary.Scheme, code, pointer string) {
	return func(list *vocabulary.Scheme, code, pointer string) {
		if vocabulary.IsLocal(code) {
			say(pointer, fmt.Sprintf("%s is kept as a local code; it is not in the list %q", code, list.Title))
		}
	}
}

var codeNotListed = &Rule{
	Kind:   kinds.CodeNotListed,
	Check:  func(c *Case, say Say) { eachOddCode(c, sayNotListed(say)) },
	Header: func(c *Case, say Say) { eachOddCodeOfReport(c.Report, sayNotListed(say)) },
}

func sayNotListed(say Say) func(list *vocabulary.Scheme, code, pointer string) {
	return func(list *vocabulary.Scheme, code, pointer string) {
		if vocabulary.IsLocal(code) {
			return
		}
		message := fmt.Sprintf("%s is not a code of the list %q of this version", code, list.Title)
		if m, ok := list.Match(code); ok && m.Code != code {
			message += "; its word for that is " + m.Code
		} else if near, _, ok := list.Nearest(code); ok {
			message += "; perhaps " + near.Code + " is meant"
		}
		say(pointer, message)
	}
}

// eachOddCode visits the codes of a find that their lists do not have.
func eachOddCode(c *Case, visit func(list *vocabulary.Scheme, code, pointer string)) {
	odd, _ := c.facts.codes.get(func() ([]oddCode, bool) { return oddCodes(c.Find), true })
	for _, o := range *odd {
		visit(o.list, o.code, o.pointer)
	}
}

// oddCode is a code that its list does not have.
type oddCode struct {
	list          *vocabulary.Scheme
	code, pointer string
}

func oddCodes(f *find.Find) (out []oddCode) {
	visit := func(list *vocabulary.Scheme, code, pointer string) { out = append(out, oddCode{list, code, pointer}) }
	f.Terms(func(pointer, list string, t *find.Term) {
		if l := listWithout(list, t.Code); l != nil {
			visit(l, t.Code, pointer+"/code")
		}
	})
	for i := range f.Owners {
		if l := listWithout("owner", f.Owners[i].Code); l != nil {
			visit(l, f.Owners[i].Code, fmt.Sprintf("/owners/%d/code", i))
		}
	}
	return out
}

// eachOddCodeOfReport visits those of people, permissions and outings.
func eachOddCodeOfReport(r *find.Report, visit func(list *vocabulary.Scheme, code, pointer string)) {
	codesOfReport(r, func(list string, t *find.Term, pointer string) {
		if t == nil {
			return
		}
		if l := listWithout(list, t.Code); l != nil {
			visit(l, t.Code, pointer+"/code")
		}
	})
}

// listWithout returns the list that ought to have a code and has it not, else nil.
func listWithout(list, code string) *vocabulary.Scheme {
	if code == "" {
		return nil
	}
	if l := vocabulary.Get(list); l != nil && !l.Has(code) {
		return l
	}
	return nil
}

// codesOfReport visits the terms of people, permissions and outings with the names of their lists.
func codesOfReport(r *find.Report, visit func(list string, t *find.Term, pointer string)) {
	for i := range r.People {
		for j := range r.People[i].Roles {
			visit("role", &r.People[i].Roles[j], fmt.Sprintf("/people/%d/roles/%d", i, j))
		}
	}
	for i := range r.Permissions {
		visit("permission-basis", r.Permissions[i].Basis, fmt.Sprintf("/permissions/%d/basis", i))
		visit("land-use", r.Permissions[i].LandUse, fmt.Sprintf("/permissions/%d/landUse", i))
	}
	for i := range r.Outings {
		visit("detecting-method", r.Outings[i].Method, fmt.Sprintf("/outings/%d/method", i))
		visit("dig-rule", r.Outings[i].DigRule, fmt.Sprintf("/outings/%d/digRule", i))
	}
}
