package share

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/profile"
)

// Unwanted makes a copy leave out what profiles never want to be sent: for all finds by a stricter policy, so that
// the leak check looks for it too, and for some finds by Options.Drop. Nothing is ever shown more of.
func (o *Options) Unwanted(list []*profile.Effective) {
	var drops []*profile.Effective
	for _, e := range list {
		for _, ask := range e.Asks {
			if ask.Strength != profile.Never {
				continue
			}
			if ask.When != nil {
				if !slices.Contains(drops, e) {
					drops = append(drops, e)
				}
				continue
			}
			for _, pointer := range ask.Ask.Any {
				o.withhold(strings.ReplaceAll(strings.Trim(pointer, "/"), "/", "."))
			}
		}
	}
	if drops == nil {
		return
	}
	o.Drop = func(source *profile.Subject, copied *find.Find) (gone []string) {
		for _, e := range drops {
			gone = append(gone, e.Drop(source, copied)...)
		}
		return gone
	}
}

// withhold makes the policy of the copy leave out a member, as far as a policy can.
func (o *Options) withhold(member string) {
	p := &Policy{leaves: map[string]map[Audience]string{}}
	if o.Policy != nil {
		p.Title, p.Words, p.Lands = o.Policy.Title, o.Policy.Words, o.Policy.Lands
		for leaf, actions := range o.Policy.leaves {
			for a, action := range actions {
				p.set(leaf, a, action)
			}
		}
	}
	if p.row(map[string]string{"member": "finds." + member, string(o.Audience): withhold}) == nil {
		o.Policy = p
	}
}
