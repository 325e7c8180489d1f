package coordinate

import "math"

// mercator is the transverse Mercator projection by Krüger's series in the third flattening n, to the sixth power
// (Krüger 1912; coefficients as in Karney, "Transverse Mercator with an accuracy of a few nanometers", 2011, equations
// 12, 14, 35 and 36). Within some 30 degrees of the central meridian the series is exact to the last figures of a
// float64.
type mercator struct {
	e              float64 // eccentricity
	radius         float64 // rectifying radius times scale, metres
	lambda0        float64 // radians
	alpha, beta    [6]float64
	delta          [6]float64
	falseE, falseN float64 // falseN includes the northing of the origin
}

func newMercator(l Ellipsoid, p Projection) *mercator {
	f := l.flattening()
	n := f / (2 - f)
	n2 := n * n
	m := &mercator{
		e:       math.Sqrt(l.eccentricity2()),
		radius:  p.Scale * l.SemiMajor / (1 + n) * (1 + n2*(1.0/4+n2*(1.0/64+n2/256))),
		lambda0: p.LongitudeOfOrigin * radians,
		falseE:  p.FalseEasting,
		falseN:  p.FalseNorthing,
	}
	m.alpha = [6]float64{
		polynomial(n, 0, 1.0/2, -2.0/3, 5.0/16, 41.0/180, -127.0/288, 7891.0/37800),
		polynomial(n, 0, 0, 13.0/48, -3.0/5, 557.0/1440, 281.0/630, -1983433.0/1935360),
		polynomial(n, 0, 0, 0, 61.0/240, -103.0/140, 15061.0/26880, 167603.0/181440),
		polynomial(n, 0, 0, 0, 0, 49561.0/161280, -179.0/168, 6601661.0/7257600),
		polynomial(n, 0, 0, 0, 0, 0, 34729.0/80640, -3418889.0/1995840),
		polynomial(n, 0, 0, 0, 0, 0, 0, 212378941.0/319334400),
	}
	m.beta = [6]float64{
		polynomial(n, 0, 1.0/2, -2.0/3, 37.0/96, -1.0/360, -81.0/512, 96199.0/604800),
		polynomial(n, 0, 0, 1.0/48, 1.0/15, -437.0/1440, 46.0/105, -1118711.0/3870720),
		polynomial(n, 0, 0, 0, 17.0/480, -37.0/840, -209.0/4480, 5569.0/90720),
		polynomial(n, 0, 0, 0, 0, 4397.0/161280, -11.0/504, -830251.0/7257600),
		polynomial(n, 0, 0, 0, 0, 0, 4583.0/161280, -108847.0/3991680),
		polynomial(n, 0, 0, 0, 0, 0, 0, 20648693.0/638668800),
	}
	// From the conformal latitude to the geodetic one: Kawase, "A general formula for calculating meridian arc length and
	// its application to coordinate conversion in the Gauss-Krüger projection", 2011; from memory, held by the test to
	// what Newton's method finds.
	m.delta = [6]float64{
		polynomial(n, 0, 2, -2.0/3, -2, 116.0/45, 26.0/45, -2854.0/675),
		polynomial(n, 0, 0, 7.0/3, -8.0/5, -227.0/45, 2704.0/315, 2323.0/945),
		polynomial(n, 0, 0, 0, 56.0/15, -136.0/35, -1262.0/105, 73814.0/2835),
		polynomial(n, 0, 0, 0, 0, 4279.0/630, -332.0/35, -399572.0/14175),
		polynomial(n, 0, 0, 0, 0, 0, 4174.0/315, -144838.0/6237),
		polynomial(n, 0, 0, 0, 0, 0, 0, 601676.0/22275),
	}
	if p.LatitudeOfOrigin != 0 {
		_, n0 := m.forward(p.LatitudeOfOrigin*radians, m.lambda0)
		m.falseN -= n0 - p.FalseNorthing
	}
	return m
}

// polynomial evaluates c[0] + c[1] x + c[2] x² + ...
func polynomial(x float64, c ...float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}

// series sums c[j] sin(2(j+1)(xi + i eta)) by Clenshaw's recurrence and returns its real and imaginary part.
func series(c *[6]float64, xi, eta float64) (re, im float64) {
	s, co := math.Sincos(2 * xi)
	var sh, ch float64
	if math.Abs(eta) < 0.1 { // keeps the figures that the difference of the exponentials would lose
		sh = math.Sinh(2 * eta)
		ch = math.Sqrt(1 + sh*sh)
	} else {
		ex := math.Exp(2 * eta)
		sh, ch = (ex-1/ex)/2, (ex+1/ex)/2
	}
	ar, ai := 2*co*ch, -2*s*sh // 2 cos(2 zeta)
	var b1r, b1i, b2r, b2i float64
	for j := 5; j >= 0; j-- {
		tr := ar*b1r - ai*b1i - b2r + c[j]
		ti := ar*b1i + ai*b1r - b2i
		b2r, b2i, b1r, b1i = b1r, b1i, tr, ti
	}
	sr, si := s*ch, co*sh // sin(2 zeta)
	return sr*b1r - si*b1i, sr*b1i + si*b1r
}

func (m *mercator) forward(phi, lambda float64) (e, n float64) {
	taup := conformalTangent(math.Tan(phi), m.e)
	sl, cl := math.Sincos(lambda - m.lambda0)
	xi := math.Atan2(taup, cl)
	eta := math.Asinh(sl / math.Hypot(taup, cl))
	dx, de := series(&m.alpha, xi, eta)
	return m.falseE + m.radius*(eta+de), m.falseN + m.radius*(xi+dx)
}

func (m *mercator) inverse(e, n float64) (phi, lambda float64) {
	xi, eta := (n-m.falseN)/m.radius, (e-m.falseE)/m.radius
	dx, de := series(&m.beta, xi, eta)
	xi, eta = xi-dx, eta-de
	sx, cx := math.Sincos(xi)
	sh := math.Sinh(eta)
	// The conformal latitude chi has the tangent sx / h, and its sine and cosine are over the root of sx² + h².
	h := math.Sqrt(sh*sh + cx*cx)
	r2 := sx*sx + h*h
	s2, c2 := 2*sx*h/r2, (h*h-sx*sx)/r2 // of twice chi
	b1, b2 := 0.0, 0.0
	for j := 5; j >= 0; j-- {
		b1, b2 = 2*c2*b1-b2+m.delta[j], b1
	}
	return math.Atan2(sx, h) + s2*b1, m.lambda0 + math.Atan2(sh, cx)
}

// reach reports whether the series holds at this place: within 30 degrees of the central meridian.
func (m *mercator) reach(_, lambda float64) bool {
	return math.Abs(wrap(lambda-m.lambda0)) <= 30*radians
}

// wrap brings an angle in radians into -pi to pi.
func wrap(a float64) float64 {
	if a < -math.Pi || a > math.Pi {
		a = math.Remainder(a, 2*math.Pi)
	}
	return a
}

// conic is Lambert's conformal conic with two standard parallels (EPSG method 9802), written with the isometric
// latitude: the radius on the map is aF exp(-n psi).
type conic struct {
	e, cone, scale float64 // scale is a F
	rho0, lambda0  float64
	falseE, falseN float64
}

func newConic(l Ellipsoid, p Projection) *conic {
	e := math.Sqrt(l.eccentricity2())
	m := func(phi float64) float64 {
		s := math.Sin(phi)
		return math.Cos(phi) / math.Sqrt(1-e*e*s*s)
	}
	phi1, phi2 := p.StandardParallel1*radians, p.StandardParallel2*radians
	psi1, psi2 := isometric(phi1, e), isometric(phi2, e)
	c := &conic{e: e, lambda0: p.LongitudeOfOrigin * radians, falseE: p.FalseEasting, falseN: p.FalseNorthing}
	c.cone = (math.Log(m(phi1)) - math.Log(m(phi2))) / (psi2 - psi1)
	c.scale = l.SemiMajor * m(phi1) / c.cone * math.Exp(c.cone*psi1)
	if p.LatitudeOfOrigin < 90 {
		c.rho0 = c.scale * math.Exp(-c.cone*isometric(p.LatitudeOfOrigin*radians, e))
	}
	return c
}

// isometric returns the isometric latitude.
func isometric(phi, e float64) float64 { return math.Asinh(conformalTangent(math.Tan(phi), e)) }

func (c *conic) forward(phi, lambda float64) (e, n float64) {
	rho := c.scale * math.Exp(-c.cone*isometric(phi, c.e))
	s, co := math.Sincos(c.cone * wrap(lambda-c.lambda0))
	return c.falseE + rho*s, c.falseN + c.rho0 - rho*co
}

func (c *conic) inverse(e, n float64) (phi, lambda float64) {
	x, y := e-c.falseE, c.rho0-(n-c.falseN)
	rho := math.Hypot(x, y)
	if c.cone < 0 {
		rho, x, y = -rho, -x, -y
	}
	psi := -math.Log(rho/c.scale) / c.cone
	return math.Atan(geodeticTangent(math.Sinh(psi), c.e)), c.lambda0 + math.Atan2(x, y)/c.cone
}

func (c *conic) reach(phi, lambda float64) bool {
	return math.Abs(phi) < 89.9*radians && math.Abs(wrap(lambda-c.lambda0)) <= 90*radians
}

// azimuthal is Lambert's azimuthal equal area projection of the ellipsoid in its oblique form (IOGP Guidance Note 7-2,
// EPSG method 9820). The way back solves the authalic latitude by Newton's rule instead of the note's short series.
type azimuthal struct {
	e, e2, polar   float64 // polar is q at the pole
	radius, d      float64
	sin0, cos0     float64 // of the authalic latitude of the origin
	lambda0        float64
	falseE, falseN float64
}

func newAzimuthal(l Ellipsoid, p Projection) *azimuthal {
	z := &azimuthal{e2: l.eccentricity2(), lambda0: p.LongitudeOfOrigin * radians, falseE: p.FalseEasting,
		falseN: p.FalseNorthing}
	z.e = math.Sqrt(z.e2)
	z.polar = z.authalic(1)
	z.radius = l.SemiMajor * math.Sqrt(z.polar/2)
	s, c := math.Sincos(p.LatitudeOfOrigin * radians)
	z.sin0 = z.authalic(s) / z.polar
	z.cos0 = math.Sqrt(1 - z.sin0*z.sin0)
	z.d = l.SemiMajor * c / math.Sqrt(1-z.e2*s*s) / (z.radius * z.cos0)
	return z
}

// authalic is q, twice the area between equator and a latitude of the given sine on an ellipsoid of unit axis.
func (z *azimuthal) authalic(s float64) float64 {
	return (1 - z.e2) * (s/(1-z.e2*s*s) + math.Atanh(z.e*s)/z.e)
}

func (z *azimuthal) forward(phi, lambda float64) (e, n float64) {
	sb := z.authalic(math.Sin(phi)) / z.polar
	cb := math.Sqrt(max(0, 1-sb*sb))
	sl, cl := math.Sincos(wrap(lambda - z.lambda0))
	b := z.radius * math.Sqrt(2/(1+z.sin0*sb+z.cos0*cb*cl))
	return z.falseE + b*z.d*cb*sl, z.falseN + b/z.d*(z.cos0*sb-z.sin0*cb*cl)
}

func (z *azimuthal) inverse(e, n float64) (phi, lambda float64) {
	x, y := (e-z.falseE)/(z.d*z.radius), (n-z.falseN)*z.d/z.radius
	r2 := x*x + y*y // 4 sin squared of half the arc from the origin
	if r2 >= 4 {
		return math.NaN(), math.NaN()
	}
	c, s := 1-r2/2, math.Sqrt(1-r2/4) // cosine of the arc; sine of the arc over r
	q := z.polar * (c*z.sin0 + y*s*z.cos0)
	lambda = z.lambda0 + math.Atan2(x*s, z.cos0*c-y*s*z.sin0)
	phi = math.Asin(max(-1, min(1, q/z.polar)))
	for range 6 {
		sp, cp := math.Sincos(phi)
		if cp < 1e-9 {
			break
		}
		w := 1 - z.e2*sp*sp
		step := w * w / (2 * cp) * (q - z.authalic(sp)) / (1 - z.e2)
		phi += step
		if math.Abs(step) < 1e-15 {
			break
		}
	}
	return phi, lambda
}

func (z *azimuthal) reach(phi, lambda float64) bool {
	return math.Abs(phi) < 89.9*radians && math.Abs(wrap(lambda-z.lambda0)) <= 90*radians
}

// krovak is Krovak's oblique conformal conic, north orientated (IOGP Guidance Note 7-2, EPSG method 1041; 9819 is the
// same with both signs turned): from the ellipsoid to Gauss's sphere, to an oblique aspect of it, to a cone.
type krovak struct {
	sphere
	sinA, cosA     float64 // of the co-latitude of the cone's axis
	cone, scale    float64 // scale is the radius on the map where the oblique latitude is zero
	falseE, falseN float64
}

func newKrovak(l Ellipsoid, p Projection) *krovak {
	k := &krovak{sphere: newSphere(l, p), falseE: p.FalseEasting, falseN: p.FalseNorthing}
	k.sinA, k.cosA = math.Sincos(p.ConeAxis * radians)
	parallel := p.StandardParallel1 * radians
	k.cone = math.Sin(parallel)
	k.scale = p.Scale * k.radius / math.Tan(parallel) * math.Exp(k.cone*math.Atanh(k.cone))
	return k
}

func (k *krovak) forward(phi, lambda float64) (e, n float64) {
	su, cu, sv, cv := k.onto(phi, lambda)
	t := k.cosA*su + k.sinA*cu*cv // sine of the oblique latitude
	d := math.Atan2(cu*sv, k.cosA*cu*cv-k.sinA*su)
	r := k.scale * math.Exp(-k.cone*math.Atanh(t))
	s, c := math.Sincos(k.cone * d)
	return r*s + k.falseE, k.falseN - r*c
}

func (k *krovak) inverse(e, n float64) (phi, lambda float64) {
	x, y := k.falseN-n, e-k.falseE
	d := math.Atan2(y, x) / k.cone
	q := -math.Log(math.Hypot(x, y)/k.scale) / k.cone
	st, ct := math.Tanh(q), 1/math.Cosh(q)
	sd, cd := math.Sincos(d)
	return k.off(k.cosA*st-k.sinA*ct*cd, math.Atan2(ct*sd, k.sinA*st+k.cosA*ct*cd))
}

func (k *krovak) reach(phi, lambda float64) bool {
	_, cu, _, cv := k.onto(phi, lambda)
	return cu > 0.1 && cv > 0.5
}

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
