package coordinate

import "math"

// sphere is Gauss's conformal map of the ellipsoid on a sphere, chosen so that the scale is true to the second order
// at the origin. The oblique stereographic projection (EPSG method 9809) and the Swiss oblique Mercator projection both
// go through it.
type sphere struct {
	e, n, k, radius float64
	lambda0         float64
	sin0, cos0      float64 // of the origin's latitude on the sphere
}

func newSphere(l Ellipsoid, p Projection) sphere {
	e2 := l.eccentricity2()
	e := math.Sqrt(e2)
	phi0 := p.LatitudeOfOrigin * radians
	s, c := math.Sincos(phi0)
	n := math.Sqrt(1 + e2/(1-e2)*c*c*c*c)
	sin0 := s / n
	return sphere{
		e: e, n: n,
		k:       math.Atanh(sin0) - n*isometric(phi0, e),
		radius:  l.SemiMajor * math.Sqrt(1-e2) / (1 - e2*s*s),
		lambda0: p.LongitudeOfOrigin * radians,
		sin0:    sin0,
		cos0:    math.Sqrt(1 - sin0*sin0),
	}
}

// onto returns sine and cosine of the latitude and of the longitude from the origin, on the sphere.
func (g *sphere) onto(phi, lambda float64) (sb, cb, sl, cl float64) {
	q := g.n*isometric(phi, g.e) + g.k
	sb, cb = math.Tanh(q), 1/math.Cosh(q)
	sl, cl = math.Sincos(g.n * wrap(lambda-g.lambda0))
	return sb, cb, sl, cl
}

// off goes back from sine of the latitude and longitude from the origin on the sphere.
func (g *sphere) off(sb, l float64) (phi, lambda float64) {
	q := (math.Atanh(sb) - g.k) / g.n
	return math.Atan(geodeticTangent(math.Sinh(q), g.e)), g.lambda0 + l/g.n
}

// stereographic is the oblique stereographic projection, the Dutch grid's.
type stereographic struct {
	sphere
	twice          float64 // twice radius times scale
	falseE, falseN float64
}

func newStereographic(l Ellipsoid, p Projection) *stereographic {
	g := newSphere(l, p)
	return &stereographic{sphere: g, twice: 2 * g.radius * p.Scale, falseE: p.FalseEasting, falseN: p.FalseNorthing}
}

func (o *stereographic) forward(phi, lambda float64) (e, n float64) {
	sb, cb, sl, cl := o.onto(phi, lambda)
	b := 1 + sb*o.sin0 + cb*o.cos0*cl
	return o.falseE + o.twice*cb*sl/b, o.falseN + o.twice*(sb*o.cos0-cb*o.sin0*cl)/b
}

func (o *stereographic) inverse(e, n float64) (phi, lambda float64) {
	x, y := (e-o.falseE)/o.twice, (n-o.falseN)/o.twice
	r2 := x*x + y*y // tangent squared of half the arc from the origin
	c, s := (1-r2)/(1+r2), 2/(1+r2)
	return o.off(c*o.sin0+s*y*o.cos0, math.Atan2(s*x, c*o.cos0-s*y*o.sin0))
}

func (o *stereographic) reach(phi, lambda float64) bool {
	_, cb, _, cl := o.onto(phi, lambda)
	return cb > 1e-6 && cl > 0
}

// swiss is the Swiss oblique Mercator projection (swisstopo, "Formulas and constants for the calculation of the Swiss
// conformal cylindrical projection", rigorous formulas; EPSG gives the same projection as method 9815 with an azimuth
// of 90 degrees).
type swiss struct {
	sphere
	scaled         float64
	falseE, falseN float64
}

func newSwiss(l Ellipsoid, p Projection) *swiss {
	g := newSphere(l, p)
	return &swiss{sphere: g, scaled: g.radius * p.Scale, falseE: p.FalseEasting, falseN: p.FalseNorthing}
}

func (w *swiss) forward(phi, lambda float64) (e, n float64) {
	sb, cb, sl, cl := w.onto(phi, lambda)
	return w.falseE + w.scaled*math.Atan2(cb*sl, w.sin0*sb+w.cos0*cb*cl),
		w.falseN + w.scaled*math.Atanh(w.cos0*sb-w.sin0*cb*cl)
}

func (w *swiss) inverse(e, n float64) (phi, lambda float64) {
	q := (n - w.falseN) / w.scaled
	sb, cb := math.Tanh(q), 1/math.Cosh(q)
	sl, cl := math.Sincos((e - w.falseE) / w.scaled)
	return w.off(w.cos0*sb+w.sin0*cb*cl, math.Atan2(cb*sl, w.cos0*cb*cl-w.sin0*sb))
}

func (w *swiss) reach(phi, lambda float64) bool {
	_, cb, _, cl := w.onto(phi, lambda)
	return cb > 1e-6 && cl > 0
}
