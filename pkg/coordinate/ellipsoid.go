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
