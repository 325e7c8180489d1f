package coordinate

import "math"

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
