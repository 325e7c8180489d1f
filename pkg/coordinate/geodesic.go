package coordinate

import "math"

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
