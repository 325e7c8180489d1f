package validate

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
)

var materialRules = []*Rule{weightBeyondSize, magnetUnlikeMaterial,
	materialUnlikeClass, sizeUnlikely}

// box returns a volume in cm³ that is surely not smaller than that of the object, from its largest
// stated sizes. False where too few sizes are known.
func box(f *find.Find, t *tables) (float64, bool) {
	d := f.Dimensions
	if d == nil {
		return 0, false
	}
	class := classOf(f)
	length, hasLength := most(d.Length)
	width, hasWidth := most(d.Width)
	height, hasHeight := most(d.Height)
	thickness, hasThickness := most(d.Thickness)
	diameter, hasDiameter := most(d.Diameter)
	if !hasLength {
		if !hasDiameter || !t.in("round", class) {
			return 0, false // the length of a rod is not bounded by its diameter
		}
		length = diameter
	}
	if !hasWidth {
		width = length
		if hasDiameter {
			width = diameter
		}
	}
	if hasWidth && hasDiameter {
		width = max(width, diameter)
	}
	third := min(length, width)
	switch {
	case hasHeight:
		third = height
	case hasThickness && t.in("flat", class):
		third = thickness
	}
	return length * width * third / 1000, true
}

// ellipsoid returns the volume in cm³ of the ellipsoid within the smallest stated sizes. False
// where a side is missing.
func ellipsoid(f *find.Find, t *tables) (float64, bool) {
	d := f.Dimensions
	if d == nil {
		return 0, false
	}
	a, hasA := least(d.Diameter)
	if hasA && t.in("round", classOf(f)) && !t.in("flat", classOf(f)) {
		return math.Pi / 6 * a * a * a / 1000, true
	}
	length, ok1 := least(d.Length)
	width, ok2 := least(d.Width)
	third, ok3 := least(d.Height)
	if !ok3 {
		third, ok3 = least(d.Thickness)
	}
	return math.Pi / 6 * length * width * third / 1000, ok1 && ok2 && ok3
}

// weighable reports whether the weight is that of the object as it is, not of soil, water or several.
func weighable(f *find.Find) bool {
	return !isLot(f) && !f.WeightState.Is("dirty", "wet", "with-fixing")
}

// saidWeight is the weight as it was stated, without the step that it leaves open.
func saidWeight(f *find.Find) string {
	grams := middleOf(f.Weight)
	if grams == 0 {
		grams, _ = least(f.Weight)
	}
	return figure(grams)
}

// middleOf is the best single value of a quantity; zero: there is none.
func middleOf(q *find.Quantity) float64 {
	v, _ := middle(q)
	return v
}

var weightBeyondSize = &Rule{
	Kind: kinds.WeightBeyondSize,
	Check: func(c *Case, say Say) {
		f := c.Find
		weight, ok := least(f.Weight)
		if !ok || f.Dimensions == nil || len(f.Materials) == 0 {
			return
		}
		t := theTables()
		volume, ok := box(f, t)
		heaviest := 0.0
		for i := range f.Materials {
			high, known := t.density[f.Materials[i].Code]
			ok = ok && known
			heaviest = max(heaviest, high.High)
		}
		if !ok || !weighable(f) {
			c.NotChecked()
			return
		}
		if weight > heaviest*volume {
			say("/weight",
				fmt.Sprintf("%s g is more than a solid block of the stated size would weigh in the stated material: about %s g",
					saidWeight(f), figure(heaviest*volume)))
		}
	},
}

// sayBelowSize says that a find weighs far less than a solid body of its size; see weight-unlikely.
const nought = "it is nought, which nothing is; if it was not measured, leave the cell empty"

// isNought reports whether a measure is 0 and no more.
func isNought(q *find.Quantity) bool { return q != nil && q.Max.Known() && q.Max.Float() == 0 }

func sayBelowSize(c *Case, say Say) {
	f := c.Find
	t := theTables()
	if isNought(f.Weight) {
		say("/weight", nought)
		return
	}
	weight, ok := most(f.Weight)
	if !ok || f.Dimensions == nil || len(f.Materials) == 0 || !t.in("solid", classOf(f)) || !isWhole(f) || isLot(f) {
		return
	}
	volume, ok := ellipsoid(f, t)
	lightest := math.Inf(1)
	for i := range f.Materials {
		d, known := t.density[f.Materials[i].Code]
		ok = ok && known
		lightest = min(lightest, d.Low)
	}
	if !ok {
		c.NotChecked()
		return
	}
	if expected := lightest * volume; weight*100 < expected*float64(c.Settings.SolidPercent) {
		say("/weight",
			fmt.Sprintf("%s g is far less than about %s g, which a solid body of the stated size and material weighs",
				saidWeight(f), figure(expected)))
	}
}

var magnetUnlikeMaterial = &Rule{
	Kind: kinds.MagnetUnlikeMaterial,
	Check: func(c *Case, say Say) {
		f := c.Find
		if len(f.Materials) == 0 {
			return
		}
		at, magnetic := "/magnetic", f.Magnetic
		if magnetic == nil {
			if at, magnetic = magnetInWords(f); magnetic == nil {
				return
			}
		}
		t := theTables()
		held, free, other := false, false, false
		for i := range f.Materials {
			switch code := f.Materials[i].Code; {
			case t.in("material-ferrous", code):
				held = true
			case t.in("material-not-magnetic", code):
				free = true
			default:
				other = true
			}
		}
		switch {
		case magnetic.Is("yes") && free && !held && !other:
			say(at, fmt.Sprintf("a magnet holds it, but %s is not magnetic", f.Materials[0].Text()))
		case magnetic.Is("no") && held && !rustOnly(f):
			say(at, fmt.Sprintf("a magnet does not hold it, but %s is magnetic", ferrousPart(f, t)))
		}
	},
}

func rustOnly(f *find.Find) bool {
	if f.Condition == nil {
		return false
	}
	for i := range f.Condition.Corrosion {
		if f.Condition.Corrosion[i].Is("metal-gone") {
			return true
		}
	}
	return false
}

func ferrousPart(f *find.Find, t *tables) string {
	for i := range f.Materials {
		if t.in("material-ferrous", f.Materials[i].Code) {
			return f.Materials[i].Text()
		}
	}
	return ""
}

// magnetInWords returns what the words of a find say that a magnet did, and where; nil: nothing.
func magnetInWords(f *find.Find) (at string, magnetic *find.Term) {
	care := theTables().care
	read := func(pointer, text string) bool {
		for clause := range strings.FieldsFuncSeq(text, func(r rune) bool { return strings.ContainsRune(",;:().", r) }) {
			if !care["weakly"].Has(clause) && (care["magnetic"].Has(clause) ||
				care["magnet"].Has(clause) && care["held"].Has(clause)) {
				at, magnetic = pointer, &find.Term{Code: "yes"}
				if care["denied"].Has(clause) {
					magnetic.Code = "no"
				}
				return true
			}
		}
		return false
	}
	if read("/notes", f.Notes) || read("/description", f.Description) {
		return at, magnetic
	}
	for _, heading := range find.SortedKeys(nil, f.Columns) {
		if read("/columns/"+notice.Escape(heading), f.Columns[heading]) {
			break
		}
	}
	return at, magnetic
}

var materialUnlikeClass = &Rule{
	Kind: kinds.MaterialUnlikeClass,
	Check: func(c *Case, say Say) {
		f := c.Find
		class, made := classOf(f), material(f)
		if made == "" || made == "unknown" || made == "other" || made == "metal-unknown" || made == "composite" {
			return
		}
		m := &f.Materials[0]
		if m.Note != "" || m.Certainty == "certain" && (m.Basis == "material-test" || m.Basis == "magnet") {
			return // the finder has thought of it
		}
		if pair, ok := theTables().materials[class]; ok && pair.surprising(made) {
			say("/materials/0", fmt.Sprintf("%s would be a surprise here: %s", m.Text(), pair.Why))
		} else if row, _ := c.thing(); row != nil && !c.madeOf(row, made) {
			say("/materials/0", fmt.Sprintf("a %s of %s would be a surprise", row.Name, m.Text()))
		} else if other := otherMaterial(c); other != "" {
			say("/materials/0", fmt.Sprintf("the words speak of %s, the material is %s", other, m.Text()))
		}
	},
}

// otherMaterial returns the material of which the name of a find speaks, where none of its own is like it; else
// nothing.
func otherMaterial(c *Case) string {
	code := cmp.Or(c.named().material, notedMaterial(c.Find))
	if code == "" || c.unusual() {
		return ""
	}
	for i := range c.Find.Materials {
		if !theTables().things.unlike(code, c.Find.Materials[i].Code) {
			return ""
		}
	}
	concept, _ := vocabulary.Get("material").Concept(code)
	return concept.Label("en")
}

var sizeUnlikely = &Rule{
	Kind: kinds.SizeUnlikely,
	Check: func(c *Case, say Say) {
		f := c.Find
		d := f.Dimensions
		switch {
		case d == nil:
			return
		case d.Diameter.HasValue() && theTables().in("not-round", classOf(f)):
			say("/dimensions/diameter", fmt.Sprintf("the class %s has no diameter", f.ObjectClass.Text()))
		}
		for pointer, q := range map[string]*find.Quantity{"/dimensions/diameter": d.Diameter, "/dimensions/length": d.Length,
			"/dimensions/width": d.Width, "/dimensions/height": d.Height, "/dimensions/thickness": d.Thickness} {
			if isNought(q) {
				say(pointer, nought)
			}
		}
		if isLot(f) {
			return
		}
		length, ok1 := most(d.Length)
		if width, ok := least(d.Width); ok && ok1 && width > 2*length {
			say("/dimensions/width", fmt.Sprintf("the width, %s mm, is more than twice the length, which is the longest side",
				figure(width)))
		}
		if thick, ok := least(d.Thickness); ok {
			for _, q := range [...]*find.Quantity{d.Width, d.Diameter, d.Length} {
				if side, ok := most(q); ok {
					if stated, across := middleOf(d.Thickness), middleOf(q); thick > side && stated > 1.1*across {
						say("/dimensions/thickness", fmt.Sprintf("a thickness of %s mm is more than the other side, of %s mm",
							figure(stated), figure(across)))
					}
					break
				}
			}
		}
		name, span := sizeOf(c)
		for pointer, q := range map[string]*find.Quantity{"/dimensions/diameter": d.Diameter,
			"/dimensions/length": d.Length} {
			if side, ok := least(q); ok && span > 0 && side > span {
				say(pointer, fmt.Sprintf("%s is too large for a %s, which is at most some %s mm across",
					sideSaid(q), name, figure(span)))
			}
		}
	},
}

// sideSaid writes the least of a side in the unit in which it was written.
func sideSaid(q *find.Quantity) string {
	if q.Said == "" || q.Said == "mm" {
		return figure(q.Min.Float()) + " mm"
	}
	return inUnitOf(q.Said, q.Min.Float()/10)
}

// sizeOf returns what a find is called and how large such a thing is; zero: nobody knows.
func sizeOf(c *Case) (name string, mm float64) {
	const largestCoin = 80
	row, _ := c.thing()
	switch {
	case row != nil && row.Span > 0:
		return row.Name, row.Span
	case row.isCoin():
		return row.Name, largestCoin
	case row == nil && theTables().in("coin", classOf(c.Find)) && !c.unusual():
		return "coin", largestCoin
	}
	return "", 0
}

// excusedBy reports whether a reason for a missing member stands in absent of a find; blank is none.
func excusedBy(f *find.Find, pointer string) bool { return excusedIn(f.Absent, pointer) }

// excusedIn tells the same of any record, by its absent.
func excusedIn(absent map[string]string, pointer string) bool {
	reason := absent[pointer]
	return reason != "" && reason != "blank"
}
