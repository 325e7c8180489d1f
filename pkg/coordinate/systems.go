package coordinate

import "strconv"

// systems is every system, named ones first. Parameters, areas of use and shifts are those of the EPSG dataset (read in
// the copy that PROJ 9.1.1 carries); packed sexagesimal parameters are written out through dms.
var systems = allSystems()

var byNumber, byAlias = indexSystems(systems)

// dms is degrees, minutes and seconds as decimal degrees.
func dms(d, m, s float64) float64 { return d + m/60 + s/3600 }

// The shifts. Accuracy is the figure of the EPSG dataset unless its source says otherwise.
var (
	shiftNone = Shift{Source: "WGS 84 is the reference itself"}

	shiftETRS89 = Shift{Code: "EPSG:1149", Accuracy: 1,
		Source: "EPSG:1149 (ETRS89 to WGS 84, 1 m): the plate drifts from WGS 84 by some 2.5 cm a year"}

	shiftBritain = Shift{Code: "EPSG:1314", Convention: PositionVector,
		X: 446.448, Y: -125.157, Z: 542.06, RX: 0.15, RY: 0.247, RZ: 0.842, PPM: -20.489, Accuracy: 5,
		Source: "worst of the 40 OSTN15 test points 4.93 m, mean 1.94 m (Ordnance Survey OSTN15 developer pack)"}

	shiftIreland = Shift{Code: "EPSG:1954", Convention: PositionVector,
		X: 482.5, Y: -130.6, Z: 564.6, RX: -1.042, RY: -0.214, RZ: -0.631, PPM: 8.15, Accuracy: 1,
		Source: "EPSG:1954 (TM75 to WGS 84, 1 m)"}

	shiftNetherlands = Shift{Code: "EPSG:4833", Convention: CoordinateFrame,
		X: 565.4171, Y: 50.3319, Z: 465.5524,
		RX: 1.9342 * microradian, RY: -1.6677 * microradian, RZ: 9.1019 * microradian, PPM: 4.0725, Accuracy: 1,
		Source: "EPSG:4833 (Amersfoort to WGS 84, 1 m); its rotations are in microradians there"}

	shiftBelgium = Shift{Code: "EPSG:15929", Convention: CoordinateFrame,
		X: -106.8686, Y: 52.2978, Z: -103.7239, RX: -0.3366, RY: 0.457, RZ: -1.8422, PPM: -1.2747, Accuracy: 1,
		Source: "EPSG:15929 (BD72 to WGS 84, 1 m)"}

	shiftGermany = Shift{Code: "EPSG:1777", Convention: PositionVector,
		X: 598.1, Y: 73.7, Z: 418.2, RX: 0.202, RY: 0.045, RZ: -2.455, PPM: 6.7, Accuracy: 3,
		Source: "EPSG:1777 (DHDN to WGS 84, 3 m)"}

	shiftSwitzerland = Shift{Code: "EPSG:1676", X: 674.374, Y: 15.056, Z: 405.346, Accuracy: 1,
		Source: "EPSG:1676 (CH1903+ to WGS 84, 1 m)"}

	shiftED50 = Shift{Code: "EPSG:1133", X: -87, Y: -98, Z: -121, Accuracy: 10,
		Source: "EPSG:1133 (ED50 to WGS 84, mean of western Europe, 10 m)"}

	shiftGDA94 = Shift{Code: "EPSG:1150", Accuracy: 3,
		Source: "EPSG:1150 (GDA94 to WGS 84, 3 m): the plate drifts from WGS 84 by some 7 cm a year"}

	shiftGDA2020 = Shift{Code: "EPSG:8450", Accuracy: 3, Source: "EPSG:8450 (GDA2020 to WGS 84, 3 m)"}

	shiftSweden = Shift{Code: "EPSG:1896", Convention: CoordinateFrame,
		X: 414.1, Y: 41.3, Z: 603.1, RX: 0.855, RY: -2.141, RZ: 7.023, Accuracy: 1,
		Source: "EPSG:1896 (RT90 to WGS 84, 1 m)"}

	shiftCzechia = Shift{Code: "EPSG:15965", X: 589, Y: 76, Z: 480, Accuracy: 6,
		Source: "EPSG:15965 (S-JTSK to WGS 84, 6 m)"}
)

// namedSystems are the systems but for the zones of UTM.
var namedSystems = []System{
	{Code: "EPSG:4326", Name: "WGS 84", Datum: "WGS 84", Ellipsoid: wgs84, Shift: shiftNone, Extent: extentWorld,
		Aliases: []string{"wgs84", "gps", "gpswgs84", "crs84", "ogccrs84"}},
	{Code: "EPSG:27700", Name: "British National Grid", Datum: "OSGB36", Ellipsoid: airy1830,
		Projection: Projection{Method: TransverseMercator, LatitudeOfOrigin: 49, LongitudeOfOrigin: -2,
			Scale: 0.9996012717, FalseEasting: 400000, FalseNorthing: -100000},
		Shift: shiftBritain, Extent: extentBritain,
		Aliases: []string{"bng", "osgb", "osgb36", "osgb1936", "britishgrid", "britishnationalgrid",
			"osgb36britishnationalgrid", "osngr", "ngr", "osgrid", "osgridref"}},
	{Code: "EPSG:29903", Name: "Irish Grid", Datum: "TM75", Ellipsoid: airyModified,
		Projection: Projection{Method: TransverseMercator, LatitudeOfOrigin: 53.5, LongitudeOfOrigin: -8,
			Scale: 1.000035, FalseEasting: 200000, FalseNorthing: 250000},
		Shift: shiftIreland, Extent: extentIreland,
		Aliases: []string{"irishgrid", "irishnationalgrid", "tm75", "tm75irishgrid", "ing"}},
	{Code: "EPSG:2157", Name: "Irish Transverse Mercator", Datum: "IRENET95", Ellipsoid: grs80,
		Projection: Projection{Method: TransverseMercator, LatitudeOfOrigin: 53.5, LongitudeOfOrigin: -8,
			Scale: 0.99982, FalseEasting: 600000, FalseNorthing: 750000},
		Shift: shiftETRS89, Extent: extentIreland,
		Aliases: []string{"itm", "irishtransversemercator", "irenet95", "irenet95irishtransversemercator"}},
	{Code: "EPSG:28992", Name: "Dutch grid (RD New)", Datum: "Amersfoort", Ellipsoid: bessel1841,
		Projection: Projection{Method: ObliqueStereo, LatitudeOfOrigin: dms(52, 9, 22.178),
			LongitudeOfOrigin: dms(5, 23, 15.5), Scale: 0.9999079, FalseEasting: 155000, FalseNorthing: 463000},
		Shift: shiftNetherlands, Extent: extentNetherlands,
		Aliases: []string{"rd", "rdnew", "rijksdriehoek", "rijksdriehoekstelsel", "rdcoordinaten", "rdcoordinaat",
			"amersfoort", "amersfoortrdnew"}},
	{Code: "EPSG:31370", Name: "Belgian Lambert 72", Datum: "BD72", Ellipsoid: international,
		Projection: Projection{Method: LambertConic, LatitudeOfOrigin: 90, LongitudeOfOrigin: dms(4, 22, 2.952),
			StandardParallel1: dms(51, 10, 0.00204), StandardParallel2: dms(49, 50, 0.00204),
			FalseEasting: 150000.013, FalseNorthing: 5400088.438},
		Shift: shiftBelgium, Extent: extentBelgium,
		Aliases: []string{"lambert72", "lambert1972", "belgianlambert72", "belgelambert72", "bd72", "bd72belgianlambert72",
			"l72", "lb72"}},
	{Code: "EPSG:3812", Name: "Belgian Lambert 2008", Datum: "ETRS89", Ellipsoid: grs80,
		Projection: Projection{Method: LambertConic, LatitudeOfOrigin: dms(50, 47, 52.134),
			LongitudeOfOrigin: dms(4, 21, 33.177), StandardParallel1: dms(49, 50, 0), StandardParallel2: dms(51, 10, 0),
			FalseEasting: 649328, FalseNorthing: 665262},
		Shift: shiftETRS89, Extent: extentBelgium,
		Aliases: []string{"lambert2008", "belgianlambert2008", "etrs89belgianlambert2008", "l08", "lb08"}},
	{Code: "EPSG:3006", Name: "SWEREF 99 TM", Datum: "SWEREF99", Ellipsoid: grs80,
		Projection: utm(15, 0), Shift: shiftETRS89, Extent: Extent{54.96, 10.03, 69.07, 24.17},
		NorthingFirst: true, XIsNorthing: true,
		Aliases: []string{"sweref", "sweref99", "sweref99tm"}},
	// The zone of the maps of the whole country, and so what RT90 alone means; the others are of parts of it.
	*rt90(3021, "2.5 gon V", dms(15, 48, 29.8), Extent{55.28, 10.93, 69.07, 24.17}, "rt90"),
	*rt90(3019, "7.5 gon V", dms(11, 18, 29.8), Extent{57.29, 10.93, 59.73, 12.91}),
	*rt90(3020, "5 gon V", dms(13, 33, 29.8), Extent{55.28, 11.81, 64.39, 15.44}),
	*rt90(3022, "0 gon", dms(18, 3, 29.8), Extent{56.86, 16.08, 68.54, 20.22}),
	*rt90(3023, "2.5 gon O", dms(20, 18, 29.8), Extent{63.37, 18.4, 69.07, 22.2}),
	*rt90(3024, "5 gon O", dms(22, 33, 29.8), Extent{65.24, 21.34, 68.58, 24.17}),
	{Code: "EPSG:3067", Name: "ETRS-TM35FIN", Datum: "ETRS89", Ellipsoid: grs80,
		Projection: utm(27, 0), Shift: shiftETRS89, Extent: Extent{58.84, 19.08, 70.09, 31.59},
		Aliases: []string{"tm35fin", "etrstm35fin", "etrs89tm35fin", "etrs89tm35finen"}},
	{Code: "EPSG:2154", Name: "Lambert-93", Datum: "RGF93", Ellipsoid: grs80,
		Projection: Projection{Method: LambertConic, LatitudeOfOrigin: 46.5, LongitudeOfOrigin: 3,
			StandardParallel1: 49, StandardParallel2: 44, FalseEasting: 700000, FalseNorthing: 6600000},
		Shift: shiftETRS89, Extent: Extent{41.15, -9.86, 51.56, 10.38},
		Aliases: []string{"lambert93", "l93", "rgf93", "rgf93lambert93", "rgf93v1lambert93"}},
	*gaussKrueger(2, Extent{49.11, 5.86, 53.81, 7.5}),
	*gaussKrueger(3, Extent{47.27, 7.5, 55.09, 10.51}),
	*gaussKrueger(4, Extent{47.39, 10.5, 54.59, 13.51}),
	*gaussKrueger(5, Extent{48.51, 13.5, 48.98, 13.84}),
	{Code: "EPSG:2056", Name: "Swiss LV95", Datum: "CH1903+", Ellipsoid: bessel1841,
		Projection: Projection{Method: SwissMercator, LatitudeOfOrigin: dms(46, 57, 8.66),
			LongitudeOfOrigin: dms(7, 26, 22.5), Scale: 1, FalseEasting: 2600000, FalseNorthing: 1200000},
		Shift: shiftSwitzerland, Extent: extentSwitzerland,
		Aliases: []string{"lv95", "ch1903plus", "ch1903lv95", "ch1903pluslv95", "swissgrid", "mn95"}},
	{Code: "EPSG:2180", Name: "Polish grid PL-1992", Datum: "ETRS89", Ellipsoid: grs80,
		Projection: Projection{Method: TransverseMercator, LongitudeOfOrigin: 19, Scale: 0.9993,
			FalseEasting: 500000, FalseNorthing: -5300000},
		Shift: shiftETRS89, Extent: Extent{49, 14.14, 55.93, 24.15}, NorthingFirst: true, XIsNorthing: true,
		Aliases: []string{"puwg1992", "puwg92", "pl1992", "uklad1992", "ukladpl1992",
			"cs92", "polandcs92", "etrs89polandcs92", "etrf2000plcs92"}},
	*poland2000(15, Extent{50.26, 14.14, 55.35, 16.5}),
	*poland2000(18, Extent{49.39, 16.5, 55.93, 19.5}),
	*poland2000(21, Extent{49.09, 19.5, 54.55, 22.5}),
	*poland2000(24, Extent{49, 22.5, 54.41, 24.15}),
	{Code: "EPSG:3035", Name: "European equal area (LAEA)", Datum: "ETRS89", Ellipsoid: grs80,
		Projection: Projection{Method: EqualArea, LatitudeOfOrigin: 52, LongitudeOfOrigin: 10,
			FalseEasting: 4321000, FalseNorthing: 3210000},
		Shift: shiftETRS89, Extent: Extent{24.6, -35.58, 84.73, 44.83}, NorthingFirst: true,
		Aliases: []string{"laea", "laeaeurope", "etrs89laea", "etrslaea", "etrs89laeaeurope", "etrs89extendedlaeaeurope"}},
	{Code: "EPSG:5514", Name: "Krovak East North", Datum: "S-JTSK", Ellipsoid: bessel1841,
		Projection: Projection{Method: Krovak, LatitudeOfOrigin: 49.5, LongitudeOfOrigin: dms(24, 50, 0),
			ConeAxis: dms(30, 17, 17.3031), StandardParallel1: 78.5, Scale: 0.9999},
		Shift: shiftCzechia, Extent: Extent{47.73, 12.09, 51.06, 22.56},
		Aliases: []string{"krovak", "krovakeastnorth", "sjtsk", "jtsk", "sjtskkrovak", "sjtskkrovakeastnorth"}},
	{Code: "EPSG:4258", Name: "ETRS89 latitude and longitude", Datum: "ETRS89", Ellipsoid: grs80,
		Shift: shiftETRS89, Extent: extentEurope, Aliases: []string{"etrs89"}},
	{Code: "EPSG:4277", Name: "OSGB36 latitude and longitude", Datum: "OSGB36", Ellipsoid: airy1830,
		Shift: shiftBritain, Extent: extentBritain},
	{Code: "EPSG:4300", Name: "TM75 latitude and longitude", Datum: "TM75", Ellipsoid: airyModified,
		Shift: shiftIreland, Extent: extentIreland},
	{Code: "EPSG:4289", Name: "Amersfoort latitude and longitude", Datum: "Amersfoort", Ellipsoid: bessel1841,
		Shift: shiftNetherlands, Extent: extentNetherlands},
	{Code: "EPSG:4313", Name: "BD72 latitude and longitude", Datum: "BD72", Ellipsoid: international,
		Shift: shiftBelgium, Extent: extentBelgium},
	{Code: "EPSG:4314", Name: "DHDN latitude and longitude", Datum: "DHDN", Ellipsoid: bessel1841,
		Shift: shiftGermany, Extent: extentGermany},
	{Code: "EPSG:4150", Name: "CH1903+ latitude and longitude", Datum: "CH1903+", Ellipsoid: bessel1841,
		Shift: shiftSwitzerland, Extent: extentSwitzerland},
}

// The areas of use.
var (
	extentWorld       = Extent{-90, -180, 90, 180}
	extentEurope      = Extent{32.88, -16.1, 84.73, 40.18}
	extentBritain     = Extent{49.75, -9, 61.01, 2.01}
	extentIreland     = Extent{51.39, -10.56, 55.43, -5.34}
	extentNetherlands = Extent{50.75, 3.2, 53.7, 7.22}
	extentBelgium     = Extent{49.5, 2.5, 51.51, 6.4}
	extentGermany     = Extent{47.27, 5.86, 55.09, 13.84}
	extentSwitzerland = Extent{45.82, 5.96, 47.81, 10.49}
)

func allSystems() []*System {
	list := make([]*System, 0, len(namedSystems)+11+36+120)
	for _, s := range namedSystems {
		list = append(list, &s)
	}
	for zone := 28; zone <= 38; zone++ {
		z := strconv.Itoa(zone)
		list = append(list, &System{
			Code: "EPSG:258" + z, Name: "ETRS89 UTM zone " + z + " north", Datum: "ETRS89", Ellipsoid: grs80,
			Projection: utm(meridianOf(zone), 0), Shift: shiftETRS89, Extent: zoneExtent(zone, 0, 84),
			Aliases: []string{"etrs89utm" + z, "etrs89utm" + z + "n", "etrs89utmzone" + z + "n", "etrs89utmzone" + z,
				"etrsutm" + z + "n"},
		})
	}
	for zone := 28; zone <= 38; zone++ {
		list = append(list, datumZone(23000+zone, zone, "ED50 UTM zone ", "ED50", international, 0, shiftED50, "ed50",
			"ed50utm"))
	}
	for zone := 46; zone <= 59; zone++ {
		if zone >= 48 && zone <= 58 {
			list = append(list, datumZone(28300+zone, zone, "MGA94 zone ", "GDA94", grs80, 10000000, shiftGDA94, "mga94",
				"gda94mga"))
		}
		list = append(list, datumZone(7800+zone, zone, "MGA2020 zone ", "GDA2020", grs80, 10000000, shiftGDA2020, "mga2020",
			"gda2020mga"))
	}
	for _, south := range []bool{false, true} {
		for zone := 1; zone <= 60; zone++ {
			list = append(list, utmZone(zone, south))
		}
	}
	for _, s := range list {
		if s.Projection.Method == "" {
			s.Projection.Method = Geographic
		}
		s.ready()
	}
	return list
}

// utm is the projection of a UTM zone and of the national grids built like one.
func utm(meridian, falseNorthing float64) Projection {
	return Projection{Method: TransverseMercator, LongitudeOfOrigin: meridian, Scale: 0.9996,
		FalseEasting: 500000, FalseNorthing: falseNorthing}
}

// meridianOf is the central meridian of a UTM zone, in degrees.
func meridianOf(zone int) float64 { return float64(6*zone - 183) }

func zoneExtent(zone int, south, north float64) Extent {
	m := meridianOf(zone)
	return Extent{south, m - 3, north, m + 3}
}

func utmZone(zone int, south bool) *System {
	code, word := 32600+zone, "north"
	falseNorthing, extent := 0.0, zoneExtent(zone, 0, 84)
	if south {
		code, word = 32700+zone, "south"
		falseNorthing, extent = 10000000, zoneExtent(zone, -80, 0)
	}
	z := strconv.Itoa(zone)
	aliases := []string{"wgs84utmzone" + z + word}
	if !south { // an S after the zone may be the band from 32 to 40 north, and is left to readUTM
		aliases = append(aliases, "utm"+z+"n", "utmzone"+z+"n", "wgs84utm"+z+"n", "wgs84utmzone"+z+"n")
	}
	return &System{
		Code: "EPSG:" + strconv.Itoa(code), Name: "UTM zone " + z + " " + word, Datum: "WGS 84", Ellipsoid: wgs84,
		Projection: utm(meridianOf(zone), falseNorthing), Shift: shiftNone, Extent: extent,
		Aliases: aliases,
	}
}

// datumZone is a zone of UTM, or of a grid built like it, on another datum than WGS 84.
func datumZone(code, zone int, name, datum string, on Ellipsoid, falseNorthing float64, shift Shift,
	names ...string) *System {
	z := strconv.Itoa(zone)
	extent := zoneExtent(zone, 25, 84)
	if falseNorthing > 0 {
		extent = zoneExtent(zone, -60, -8)
	}
	s := &System{Code: "EPSG:" + strconv.Itoa(code), Name: name + z, Datum: datum, Ellipsoid: on,
		Projection: utm(meridianOf(zone), falseNorthing), Shift: shift, Extent: extent}
	for _, name := range names {
		s.Aliases = append(s.Aliases, name+z, name+"zone"+z)
		if falseNorthing == 0 {
			s.Aliases = append(s.Aliases, name+z+"n", name+"zone"+z+"n")
		}
	}
	if falseNorthing == 0 {
		s.Aliases = append(s.Aliases, "utm"+z+"ed50", "utmzone"+z+"ed50")
	}
	return s
}

// rt90 is a zone of the Swedish system of 1990, by its meridian in gon west (V) or east (O) of Stockholm.
func rt90(code int, zone string, meridian float64, x Extent, more ...string) *System {
	return &System{Code: "EPSG:" + strconv.Itoa(code), Name: "RT90 " + zone, Datum: "RT90", Ellipsoid: bessel1841,
		Projection: Projection{Method: TransverseMercator, LongitudeOfOrigin: meridian, Scale: 1, FalseEasting: 1500000},
		Shift:      shiftSweden, Extent: x, NorthingFirst: true, XIsNorthing: true,
		Aliases: append(more, foldName("RT90 "+zone))}
}

func gaussKrueger(zone int, x Extent) *System {
	z := strconv.Itoa(zone)
	return &System{
		Code: "EPSG:" + strconv.Itoa(31464+zone), Name: "Gauss-Krüger zone " + z, Datum: "DHDN", Ellipsoid: bessel1841,
		Projection: Projection{Method: TransverseMercator, LongitudeOfOrigin: float64(3 * zone), Scale: 1,
			FalseEasting: float64(zone)*1e6 + 500000},
		Shift: shiftGermany, Extent: x, NorthingFirst: true, XIsNorthing: true,
		Aliases: []string{"gk" + z, "gkzone" + z, "gausskrueger" + z, "gausskruger" + z, "gausskruegerzone" + z,
			"gausskrugerzone" + z,
			"dhdngk" + z, "dhdn3degreegausskruegerzone" + z, "dhdn3degreegausskrugerzone" + z},
	}
}

// poland2000 is a zone of the Polish system 2000, by its meridian.
func poland2000(meridian int, x Extent) *System {
	m, zone := strconv.Itoa(meridian), strconv.Itoa(meridian/3)
	return &System{
		Code: "EPSG:" + strconv.Itoa(2171+meridian/3), Name: "Polish grid PL-2000 zone " + zone, Datum: "ETRS89",
		Ellipsoid: grs80,
		Projection: Projection{Method: TransverseMercator, LongitudeOfOrigin: float64(meridian), Scale: 0.999923,
			FalseEasting: float64(meridian/3)*1e6 + 500000},
		Shift: shiftETRS89, Extent: x, NorthingFirst: true, XIsNorthing: true,
		Aliases: []string{"cs2000" + m, "etrf2000plcs2000" + m, "polandcs2000zone" + zone, "etrs89polandcs2000zone" + zone,
			"pl2000strefa" + zone,
			"puwg2000strefa" + zone, "uklad2000strefa" + zone, "pl2000zone" + zone},
	}
}

func indexSystems(list []*System) (map[int]*System, map[string]*System) {
	numbers, names := make(map[int]*System, len(list)), make(map[string]*System, 4*len(list))
	for _, s := range list {
		n, _ := epsgNumber(s.Code)
		numbers[n] = s
		for _, a := range s.Aliases {
			names[a] = s
		}
		names[foldName(s.Name)] = s
	}
	return numbers, names
}
