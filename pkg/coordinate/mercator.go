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
