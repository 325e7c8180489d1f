// Command positionsrace reads the same random places with this module and with PROJ (cs2cs) or GeographicLib
// (GeoConvert), and prints how many places a second of processor time each of them reads, side by side: text in,
// degrees out. It fails where the two differ by more than the systems allow, never on account of a time.
//
//	go run ./.ci/positionsrace [places]
package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/findslip/findslip/pkg/coordinate"
)

// race is one notation. Their lines are ours in the spelling that the other tool wants.
type race struct {
	name, system string
	tool         []string
	metres       float64 // that the answers may differ by
	ours, theirs func(p coordinate.Point) string
	extent       [4]float64 // south, west, north, east
}

func main() {
	places := 200_000
	if len(os.Args) > 1 {
		n, err := strconv.Atoi(os.Args[1])
		check(err)
		places = n
	}
	metres := func(code string) func(coordinate.Point) string {
		s, _ := coordinate.SystemByCode(code)
		return func(p coordinate.Point) string {
			e, n, err := s.FromWGS84(p)
			check(err)
			return fmt.Sprintf("%.2f %.2f", e, n)
		}
	}
	zone := metres("EPSG:32630")
	fmt.Printf("%-44s %12s %12s\n", "places a second of processor time", "ours", "the other")
	for _, r := range []race{
		{name: "British grid, metres (cs2cs)", system: "EPSG:27700", metres: 10, extent: [4]float64{50.5, -5, 58, 1},
			tool: []string{"cs2cs", "-f", "%.7f", "EPSG:27700", "EPSG:4326"}, ours: metres("EPSG:27700"),
			theirs: metres("EPSG:27700")},
		{name: "UTM with its zone (cs2cs)", metres: 0.05, extent: [4]float64{49, -5.9, 60, -0.1},
			tool: []string{"cs2cs", "-f", "%.7f", "EPSG:32630", "EPSG:4326"},
			ours: func(p coordinate.Point) string { return "30 north " + zone(p) }, theirs: zone},
		{name: "UTM with its zone (GeoConvert)", metres: 0.05, extent: [4]float64{49, -5.9, 60, -0.1},
			tool:   []string{"GeoConvert", "-g", "-p", "2"},
			ours:   func(p coordinate.Point) string { return "30 north " + zone(p) },
			theirs: func(p coordinate.Point) string { return "30n " + zone(p) }},
	} {
		r.run(places)
	}
}

func (r *race) run(places int) {
	random := rand.New(rand.NewPCG(30, 27700))
	ours, theirs := make([]string, places), make([]string, places)
	for i := range places {
		p := coordinate.Point{Latitude: r.extent[0] + random.Float64()*(r.extent[2]-r.extent[0]),
			Longitude: r.extent[1] + random.Float64()*(r.extent[3]-r.extent[1])}
		ours[i], theirs[i] = r.ours(p), r.theirs(p)
	}
	input := strings.Join(ours, "\n") + "\n"

	began := used()
	out := make([]byte, 0, 24*places)
	for line := range strings.Lines(input) {
		got, err := coordinate.Normalise(strings.TrimSuffix(line, "\n"), coordinate.Options{System: r.system})
		check(err)
		out = strconv.AppendFloat(out, got.Point.Latitude, 'f', 7, 64)
		out = append(out, ' ')
		out = strconv.AppendFloat(out, got.Point.Longitude, 'f', 7, 64)
		out = append(out, '\n')
	}
	our := used() - began

	cmd := exec.Command(r.tool[0], r.tool[1:]...)
	cmd.Stdin = strings.NewReader(strings.Join(theirs, "\n") + "\n")
	var answer bytes.Buffer
	cmd.Stdout, cmd.Stderr = &answer, os.Stderr
	check(cmd.Run())
	their := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()

	a, b := strings.Fields(string(out)), strings.Fields(answer.String())
	if step := len(b) / places; step == 3 || step == 2 { // cs2cs gives a height as well
		for i := range places {
			p, q := point(a[2*i:]), point(b[step*i:])
			if d := coordinate.Distance(p, q); !(d <= r.metres) {
				check(fmt.Errorf("%s: %q: the answers are %g m apart", r.name, ours[i], d))
			}
		}
	} else {
		check(fmt.Errorf("%s: %d figures for %d places", r.name, len(b), places))
	}
	rate := func(d time.Duration) float64 { return math.Round(float64(places)/d.Seconds()/1000) * 1000 }
	fmt.Printf("%-44s %12.0f %12.0f\n", r.name, rate(our), rate(their))
}

func point(f []string) coordinate.Point {
	latitude, err := strconv.ParseFloat(f[0], 64)
	check(err)
	longitude, err := strconv.ParseFloat(f[1], 64)
	check(err)
	return coordinate.Point{Latitude: latitude, Longitude: longitude}
}

// used is the processor time of this process so far.
func used() time.Duration {
	var u syscall.Rusage
	check(syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func check(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
