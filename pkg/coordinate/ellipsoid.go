package coordinate

import "math"

// Ellipsoid is a figure of the Earth: the semi-major axis in metres and the inverse flattening.
type Ellipsoid struct {
	Name              string
	SemiMajor         float64 // metres
	InverseFlattening float64
}

// The ellipsoids of the systems in this package, with the constants of the EPSG dataset.
var (
	wgs84         = Ellipsoid{"WGS 84", 6378137, 298.257223563}               // EPSG:7030
	grs80         = Ellipsoid{"GRS 1980", 6378137, 298.257222101}             // EPSG:7019
	airy1830      = Ellipsoid{"Airy 1830", 6377563.396, 299.3249646}          // EPSG:7001
	airyModified  = Ellipsoid{"Airy Modified 1849", 6377340.189, 299.3249646} // EPSG:7002
	bessel1841    = Ellipsoid{"Bessel 1841", 6377397.155, 299.1528128}        // EPSG:7004
	international = Ellipsoid{"International 1924", 6378388, 297}             // EPSG:7022

	ellipsoids = [...]Ellipsoid{wgs84, grs80, airy1830, airyModified, bessel1841, international}
)

const (
	radians = math.Pi / 180
	degrees = 180 / math.Pi
)

// flattening returns f.
func (l Ellipsoid) flattening() float64 { return 1 / l.InverseFlattening }

// eccentricity2 returns the first eccentricity squared.
func (l Ellipsoid) eccentricity2() float64 {
	f := l.flattening()
	return f * (2 - f)
}

// radii returns the radii of curvature in metres at a latitude in degrees: along the meridian and across it.
func (l Ellipsoid) radii(latitude float64) (meridian, prime float64) {
	s := math.Sin(latitude * radians)
	e2 := l.eccentricity2()
	w2 := 1 - e2*s*s
	prime = l.SemiMajor / math.Sqrt(w2)
	return prime * (1 - e2) / w2, prime
}

// geocentric turns latitude and longitude in radians and a height in metres into geocentric metres.
func (l Ellipsoid) geocentric(phi, lambda, h float64) (x, y, z float64) {
	sp, cp := math.Sincos(phi)
	sl, cl := math.Sincos(lambda)
	e2 := l.eccentricity2()
	nu := l.SemiMajor / math.Sqrt(1-e2*sp*sp)
	return (nu + h) * cp * cl, (nu + h) * cp * sl, (nu*(1-e2) + h) * sp
}

// geodetic is the inverse of geocentric, after Bowring (1976); two rounds, which near the surface is far below a
// micrometre.
func (l Ellipsoid) geodetic(x, y, z float64) (phi, lambda, h float64) {
	e2 := l.eccentricity2()
	a := l.SemiMajor
	b := a * (1 - l.flattening())
	ep2 := e2 / (1 - e2)
	p := math.Hypot(x, y)
	lambda = math.Atan2(y, x)
	st, ct := z*a, p*b
	for range 2 {
		r := math.Hypot(st, ct)
		if r == 0 {
			return 0, lambda, -a
		}
		s, c := st/r, ct/r
		num, den := z+ep2*b*s*s*s, p-e2*a*c*c*c
		phi = math.Atan2(num, den)
		st, ct = num*(1-l.flattening()), den
	}
	sp, cp := math.Sincos(phi)
	nu := a / math.Sqrt(1-e2*sp*sp)
	h = p*cp + z*sp - a*a/nu
	return phi, lambda, h
}

// conformalTangent gives the tangent of the conformal latitude for the tangent of the geodetic latitude; e is the
// eccentricity (Karney 2011, equations 7 to 9).
func conformalTangent(tau, e float64) float64 {
	r := math.Sqrt(1 + tau*tau)
	sigma := math.Sinh(e * math.Atanh(e*tau/r))
	return tau*math.Sqrt(1+sigma*sigma) - sigma*r
}

// geodeticTangent is the inverse of conformalTangent, by Newton's method (Karney 2011, equations 19 to 21).
func geodeticTangent(taup, e float64) float64 {
	e2 := e * e
	tau := taup / (1 - e2)
	if math.Abs(taup) > 1e8 || math.IsNaN(taup) { // within a millimetre of the pole
		return taup * math.Exp(e*math.Atanh(e))
	}
	for range 6 {
		t := conformalTangent(tau, e)
		d := (taup - t) * (1 + (1-e2)*tau*tau) / ((1 - e2) * math.Sqrt((1+t*t)*(1+tau*tau)))
		tau += d
		if math.Abs(d) < 1e-9*math.Max(1, math.Abs(tau)) { // the next step would be of the order of its square
			break
		}
	}
	return tau
}

// Distance returns the length in metres of the shortest way between two points on the WGS 84 ellipsoid, after Vincenty
// (1975), to a millimetre at any length that matters in the field. Where his iteration does not settle, between nearly
// opposite points of the Earth, the azimuth is found by halving instead. It is NaN where a point is not valid.
func Distance(a, b Point) float64 {
	if !a.Valid() || !b.Valid() {
		return math.NaN()
	}
	if d, ok := vincenty(a, b); ok {
		return d
	}
	return halving(a, b)
}

// reduced returns sine and cosine of the reduced latitude.
func reduced(latitude float64) (s, c float64) {
	s, c = math.Sincos(latitude * radians)
	s *= 1 - wgs84.flattening()
	r := math.Hypot(s, c)
	return s / r, math.Max(c/r, 0)
}

// lambdaMinusOmega is by how much the longitude on the ellipsoid falls short of that on the sphere, for an arc sigma
// (Vincenty 1975, equations 10 and 11).
func lambdaMinusOmega(sinAlpha, cos2Alpha, sigma, sinSigma, cosSigma, cos2M float64) float64 {
	f := wgs84.flattening()
	c := f / 16 * cos2Alpha * (4 + f*(4-3*cos2Alpha))
	return (1 - c) * f * sinAlpha * (sigma + c*sinSigma*(cos2M+c*cosSigma*(2*cos2M*cos2M-1)))
}

// arcLength is the length in metres of an arc sigma (Vincenty 1975, equations 3, 4, 6 and 19).
func arcLength(cos2Alpha, sigma, sinSigma, cosSigma, cos2M float64) float64 {
	b := wgs84.SemiMajor * (1 - wgs84.flattening())
	u2 := cos2Alpha * (wgs84.SemiMajor*wgs84.SemiMajor - b*b) / (b * b)
	ka := 1 + u2/16384*(4096+u2*(-768+u2*(320-175*u2)))
	kb := u2 / 1024 * (256 + u2*(-128+u2*(74-47*u2)))
	d := kb * sinSigma * (cos2M + kb/4*(cosSigma*(2*cos2M*cos2M-1)-kb/6*cos2M*(4*sinSigma*sinSigma-3)*(4*cos2M*cos2M-3)))
	return b * ka * (sigma - d)
}

func vincenty(a, b Point) (float64, bool) {
	l := math.Remainder(b.Longitude-a.Longitude, 360) * radians
	su1, cu1 := reduced(a.Latitude)
	su2, cu2 := reduced(b.Latitude)
	lambda := l
	for range 50 {
		sl, cl := math.Sincos(lambda)
		x, y := cu2*sl, cu1*su2-su1*cu2*cl
		sinSigma := math.Hypot(x, y)
		cosSigma := su1*su2 + cu1*cu2*cl
		if sinSigma == 0 {
			return 0, cosSigma > 0
		}
		sigma := math.Atan2(sinSigma, cosSigma)
		sinAlpha := cu1 * cu2 * sl / sinSigma
		cos2Alpha := 1 - sinAlpha*sinAlpha
		cos2M := 0.0
		if cos2Alpha > 1e-15 {
			cos2M = cosSigma - 2*su1*su2/cos2Alpha
		}
		next := l + lambdaMinusOmega(sinAlpha, cos2Alpha, sigma, sinSigma, cosSigma, cos2M)
		if math.Abs(next) > math.Pi {
			return 0, false
		}
		if math.Abs(next-lambda) < 1e-13 {
			return arcLength(cos2Alpha, sigma, sinSigma, cosSigma, cos2M), true
		}
		lambda = next
	}
	return 0, false
}

// halving finds the azimuth at the first point whose geodesic meets the parallel of the second at its longitude. With
// the points so ordered that the first is the farther from the equator and lies south, the longitude grows with the
// azimuth (Karney, "Algorithms for geodesics", 2013, section 4).
func halving(a, b Point) float64 {
	if math.Abs(a.Latitude) < math.Abs(b.Latitude) {
		a, b = b, a
	}
	if a.Latitude > 0 {
		a.Latitude, b.Latitude = -a.Latitude, -b.Latitude
	}
	want := math.Abs(math.Remainder(b.Longitude-a.Longitude, 360)) * radians
	su1, cu1 := reduced(a.Latitude)
	su2, cu2 := reduced(b.Latitude)
	low, high := 0.0, math.Pi
	best := math.NaN()
	for range 80 {
		alpha := (low + high) / 2
		sa, ca := math.Sincos(alpha)
		sinAlpha := sa * cu1
		cos2Alpha := 1 - sinAlpha*sinAlpha
		ca2 := math.Sqrt(math.Max(0, ca*ca*cu1*cu1+(cu2*cu2-cu1*cu1))) / math.Max(cu2, 1e-300)
		sigma1, sigma2 := math.Atan2(su1, ca*cu1), math.Atan2(su2, ca2*cu2)
		omega := math.Atan2(sinAlpha*su2, ca2*cu2) - math.Atan2(sinAlpha*su1, ca*cu1)
		if omega < 0 {
			omega += 2 * math.Pi
		}
		sigma := sigma2 - sigma1
		if sigma < 0 {
			sigma += 2 * math.Pi
		}
		ss, cs := math.Sincos(sigma)
		cos2M := math.Cos(sigma1 + sigma2)
		got := omega - lambdaMinusOmega(sinAlpha, cos2Alpha, sigma, ss, cs, cos2M)
		best = arcLength(cos2Alpha, sigma, ss, cs, cos2M)
		if got < want {
			low = alpha
		} else {
			high = alpha
		}
	}
	return best
}

// Convention says how the rotations of a seven-parameter shift are to be taken; the two differ in their sign.
type Convention string

// The two conventions of the EPSG dataset.
const (
	PositionVector  Convention = "position vector"  // EPSG method 9606
	CoordinateFrame Convention = "coordinate frame" // EPSG method 9607
)

// Shift is the way from a datum to WGS 84: three translations in metres, three rotations in seconds of arc and a scale
// in parts per million. The zero Shift changes nothing.
type Shift struct {
	Code       string     // the EPSG operation, "EPSG:1314"; empty for WGS 84 itself
	Convention Convention // empty where there is no rotation
	X, Y, Z    float64    // metres
	RX, RY, RZ float64    // seconds of arc
	PPM        float64    // scale difference, parts per million
	Accuracy   float64    // metres; what an honest uncertainty has to add
	Source     string     // where Accuracy comes from
}

const arcSecond = math.Pi / (180 * 3600)

// helmert is a Shift made ready: x' = t + m x, and the exact inverse of m.
type helmert struct {
	t    [3]float64
	m, w [3][3]float64
}

// newHelmert returns nil for a shift that moves nothing.
func newHelmert(s Shift) *helmert {
	if s.X == 0 && s.Y == 0 && s.Z == 0 && s.RX == 0 && s.RY == 0 && s.RZ == 0 && s.PPM == 0 {
		return nil
	}
	sign := 1.0
	if s.Convention == CoordinateFrame {
		sign = -1
	}
	rx, ry, rz := sign*s.RX*arcSecond, sign*s.RY*arcSecond, sign*s.RZ*arcSecond
	k := 1 + s.PPM*1e-6
	h := &helmert{
		t: [3]float64{s.X, s.Y, s.Z},
		m: [3][3]float64{{k, -k * rz, k * ry}, {k * rz, k, -k * rx}, {-k * ry, k * rx, k}},
	}
	m := &h.m
	cofactor := func(r, c int) float64 {
		r1, r2, c1, c2 := (r+1)%3, (r+2)%3, (c+1)%3, (c+2)%3
		return m[r1][c1]*m[r2][c2] - m[r1][c2]*m[r2][c1]
	}
	det := m[0][0]*cofactor(0, 0) + m[0][1]*cofactor(0, 1) + m[0][2]*cofactor(0, 2)
	for r := range 3 {
		for c := range 3 {
			h.w[r][c] = cofactor(c, r) / det
		}
	}
	return h
}

func apply(m *[3][3]float64, x, y, z float64) (float64, float64, float64) {
	return m[0][0]*x + m[0][1]*y + m[0][2]*z, m[1][0]*x + m[1][1]*y + m[1][2]*z, m[2][0]*x + m[2][1]*y + m[2][2]*z
}

// toWGS84 moves latitude and longitude in radians, on the ellipsoid l at height 0, to WGS 84.
func (h *helmert) toWGS84(l Ellipsoid, phi, lambda float64) (float64, float64) {
	x, y, z := l.geocentric(phi, lambda, 0)
	x, y, z = apply(&h.m, x, y, z)
	phi, lambda, _ = wgs84.geodetic(x+h.t[0], y+h.t[1], z+h.t[2])
	return phi, lambda
}

// fromWGS84 is the exact inverse of toWGS84: it seeks the height on WGS 84 that is height 0 on the ellipsoid l, so that
// there and back is the same place to the last figures.
func (h *helmert) fromWGS84(l Ellipsoid, phi, lambda float64) (float64, float64) {
	height := 0.0
	var p, q float64
	for range 3 {
		x, y, z := wgs84.geocentric(phi, lambda, height)
		x, y, z = apply(&h.w, x-h.t[0], y-h.t[1], z-h.t[2])
		var up float64
		p, q, up = l.geodetic(x, y, z)
		height -= up
		if math.Abs(up) < 1e-3 {
			break
		}
	}
	return p, q
}
