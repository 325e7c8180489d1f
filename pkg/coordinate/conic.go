package coordinate

import "math"

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
