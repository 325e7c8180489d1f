package render

// A Plan is a drawing of the finds to scale. It holds places, so it is made only for those who may
// see them. Coordinates are metres east and north of any one point.
type Plan struct {
	Points   []PlanPoint
	Areas    []PlanArea
	By       string // what the signs stand for: material or period; empty: not said
	Unplaced int    // finds without a position
	Far      int    // finds so far away that they are not drawn
}

// PlanPoint is one find.
type PlanPoint struct {
	Label  string
	X, Y   float64 // metres east and north
	Radius float64 // uncertainty in metres; 0: not known
	Group  string  // material or period; empty: not known
}

// PlanArea is the outline of a piece of land.
type PlanArea struct {
	Label    string
	Excluded bool         // drawn as a piece that is left out of the land around it
	Ring     [][2]float64 // metres east and north
}
