package share

import (
	"slices"

	"github.com/findslip/findslip/pkg/find"
)

// crowds counts, for each cell, the permissions that lie in it: a cell with only one gives it away.
func (c *copier) crowds() {
	c.crowd = make([]map[[2]int64]map[string]bool, len(steps))
	for i := range steps {
		c.crowd[i] = map[[2]int64]map[string]bool{}
		for _, f := range c.source.Finds {
			if f.Permission == "" || f.Position == nil || !f.Position.Latitude.Known() || !f.Position.Longitude.Known() {
				continue // land of which nothing is said may be the same land
			}
			key := cellKey(f.Position, i)
			if c.crowd[i][key] == nil {
				c.crowd[i][key] = map[string]bool{}
			}
			c.crowd[i][key][f.Permission] = true
		}
	}
}

// neighbours notes the outings and days of finds whose place is withheld, and the finds that belong
// to them.
func (c *copier) neighbours() {
	c.guarded, c.bound = map[string]bool{}, map[string]bool{}
	var secret []string
	ties := map[string][]string{} // both ways
	tie := func(a, b string) {
		if b != "" {
			ties[a], ties[b] = append(ties[a], b), append(ties[b], a)
		}
	}
	for _, f := range c.source.Finds {
		tie(f.ID, f.PartOf)
		for i := range f.Associated {
			tie(f.ID, f.Associated[i].Find)
		}
		if s := sensitivity(f); s == "restricted" || s == "closed" {
			secret = append(secret, f.ID)
			for _, key := range outingKeys(f) {
				c.guarded[key] = true
			}
		}
	}
	for len(secret) > 0 { // whatever hangs together lies together
		id := secret[0]
		if secret = secret[1:]; !c.bound[id] {
			c.bound[id] = true
			secret = append(secret, ties[id]...)
		}
	}
}

func outingKeys(f *find.Find) (keys []string) {
	if f.Outing != "" {
		keys = append(keys, "outing "+f.Outing)
	}
	if f.Found != nil && f.Found.Date != "" {
		keys = append(keys, "day "+f.Found.Date+" "+f.Permission)
	}
	return keys
}

// beside tells a find of the same outing, or the same day on the same land, as one whose place is
// withheld.
func (c *copier) beside(f *find.Find) bool {
	return slices.ContainsFunc(outingKeys(f), func(key string) bool { return c.guarded[key] })
}

// betrays tells whether the place of a find would tell that of one that is withheld: of a find that
// belongs to it, and for an expert, who sees day and number, of any find of the same outing.
func (c *copier) betrays(f *find.Find) bool {
	return c.bound[f.ID] || c.o.Audience == Expert && c.beside(f)
}

// position puts the position on the grid, or withholds it.
func (w *worker) position(how string) {
	p := w.f.Position
	step := 1
	s := sensitivity(w.source)
	switch {
	case how == cell && s == "open" && !w.c.beside(w.source): // the month and the land of a log may be guessed
		step = 0
	case how == cellOne:
		step = len(steps) - 1
	}
	if s == "restricted" || s == "closed" || w.c.betrays(w.source) || !p.Latitude.Known() || !p.Longitude.Known() {
		w.f.Position = nil
		w.absent("/position")
		delete(w.f.Generalised, "/position")
		return
	}
	already := w.f.Generalised["/position"]
	if !onGrid(p, already) || stepOf(already) < step {
		already = "" // it says so and is not, or is finer than it may be
	}
	alone := w.c.o.Audience == Public && already == "" && step < len(steps)-1 && len(w.c.crowd[step][cellKey(p, step)]) < 2
	if alone {
		step++ // a cell with only one permission in it gives it away
		w.generalised("/position/uncertainty", "cell-of-one-permission")
	}
	if p.Method != nil {
		w.absent("/position/method")
	}
	w.generalised("/position", generalise(p, step, already))
}
