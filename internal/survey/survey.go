// Package survey adjusts a net of distances: the edges and diagonals of a panel, each measured with a tape, become the
// corners that fit all readings best, by least squares, and what each reading is worth beside the others.
//
// The adjustment is the method of observation equations with weights 1/σ²; the tests on it are Baarda's (A testing
// procedure for use in geodetic networks, Delft 1968): a test of the whole net, and one of every reading by its
// standardised residual. What is said of uncertainty follows from the stated uncertainty of the readings, not from how well
// they happen to agree: with one or two readings to spare, agreement is luck.
package survey

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
)

const (
	// MostCorners is the largest net that is taken.
	MostCorners = 40
	// Critical is the standardised residual above which a reading is suspected: the two-sided 0.1 % point of the normal
	// distribution, as Baarda chose it.
	Critical = 3.29
	// Confidence is the level of the test of the whole net, one-sided: only too large a misfit fails.
	Confidence = 0.95
	// found is how many standard deviations of a standardised residual a gross error must move it by to be found with a chance
	// of 80 % at the critical value above: 3.29 + 0.84.
	found = 4.13
	// unchecked is the redundancy number below which no other reading says anything of one.
	unchecked = 1e-7
)

// Distance is one measured distance between two corners, with its standard uncertainty, both mm and more than 0.
type Distance struct {
	From, To int
	Length   float64
	StdUnc   float64
}

// Net is what was measured. Corners are numbered from 0, anticlockwise round the panel. The same two corners may be measured
// more than once.
type Net struct {
	Corners   int
	Distances []Distance
}

// Corner is an adjusted corner and its standard uncertainty in the frame of Result.At, mm. Major and Minor are the half axes of
// the standard ellipse (which holds the corner with a chance of 39 %), Angle the direction of the major one from +x, in
// radians from −π/2 to π/2.
type Corner struct {
	At           plane.Point
	SX, SY       float64
	Major, Minor float64
	Angle        float64
}

// Reading is what the adjustment says of one distance.
type Reading struct {
	Adjusted   float64 // mm
	Residual   float64 // adjusted − measured, mm
	Redundancy float64 // redundancy number, 0 to 1: the part of an error in this reading that shows in its residual
	Checked    bool    // the other readings say something of this one; the following are 0 where they do not
	Standard   float64 // residual by its own standard deviation
	Misclosure float64 // what the other readings alone give for this distance, less what was measured, mm
	Findable   float64 // the smallest gross error that its standardised residual finds with a chance of 80 %, mm
}

// Other is another shape that the readings allow as well as the one chosen.
type Other struct {
	At    []plane.Point
	Moved []int // the corners that stand elsewhere in it by more than its own uncertainty can explain
}

// Result is an adjusted net.
type Result struct {
	Corners  []Corner // corner 0 at the origin, corner 1 on the +x axis
	Readings []Reading
	Freedom  int     // degrees of freedom: readings to spare
	ChiSq    float64 // sum of the squared residuals, each by its standard uncertainty
	Limit    float64 // what ChiSq stays below with a chance of Confidence; 0 without freedom
	Sigma0   float64 // √(ChiSq / Freedom): 1 where readings agree as well as their uncertainty says; 0 without freedom

	// Suspects are the readings of which one is likely to hold a gross error, the largest standardised residual first: the one
	// whose standardised residual passes Critical, and those that the net cannot tell from it. None where nothing is suspected.
	Suspects []int
	// Others are other shapes with these distances whose outline does not cross itself; where there are very many, some of them.
	Others []Other
	// Covariance holds the coordinates' covariances, mm²: x0 y0 x1 y1 …; rows and columns of the three held ones are 0.
	Covariance [][]float64
	Steps      int // iterations taken
}

// At returns the adjusted corners.
func (r *Result) At() []plane.Point {
	pts := make([]plane.Point, len(r.Corners))
	for i, c := range r.Corners {
		pts[i] = c.At
	}
	return pts
}

// Fits says whether the net passes both tests: as a whole, and with no reading suspected. A net without freedom passes for
// want of a check; Freedom says so.
func (r *Result) Fits() bool {
	return len(r.Suspects) == 0 && (r.Freedom == 0 || r.ChiSq <= r.Limit)
}

// InputError says what is wrong with a net before any is computed. Distance is −1 where it is the number of corners.
type InputError struct {
	Distance int
	What     string
}

// Error says it in words.
func (e *InputError) Error() string {
	if e.Distance < 0 {
		return e.What
	}
	return fmt.Sprintf("distance %d: %s", e.Distance, e.What)
}

// LooseError says that the readings do not fix the shape: the corners named can move against the rest while every measured
// distance stays as it is. Flat is set where there are readings enough, but corners in line leave one of them free.
type LooseError struct {
	Corners []int
	Missing int // at least so many readings more are needed
	Flat    bool
}

// Error says it in words.
func (e *LooseError) Error() string {
	if e.Flat {
		return fmt.Sprintf("corners %v stand in line with those that they are measured from, so that the readings do not fix them", e.Corners)
	}
	return fmt.Sprintf("the readings do not fix corners %v: %d more needed", e.Corners, e.Missing)
}

// TriangleError says that three sides do not close: Long, between the first two corners, is longer than the other two
// together by By mm. Computed is set where Long was not measured but follows from other readings.
type TriangleError struct {
	Corners  [3]int
	Long, By float64
	Computed bool
}

// Error says it in words.
func (e *TriangleError) Error() string {
	how := "measured"
	if e.Computed {
		how = "computed from the other readings"
	}
	return fmt.Sprintf("triangle of corners %d, %d, %d does not close: %d to %d, %.1f mm as %s, is %.1f mm longer than the way by corner %d",
		e.Corners[0], e.Corners[1], e.Corners[2], e.Corners[0], e.Corners[1], e.Long, how, e.By, e.Corners[2])
}

// ConvergeError says that the adjustment did not settle: after Steps iterations corners still moved by Moved mm.
type ConvergeError struct {
	Steps int
	Moved float64
}

// Error says it in words.
func (e *ConvergeError) Error() string {
	return fmt.Sprintf("the adjustment did not settle in %d steps: corners still move by %.3g mm", e.Steps, e.Moved)
}

// Adjust places the corners so that the sum of squared residuals, each by its standard uncertainty, is least. Errors are
// *InputError, *LooseError, *TriangleError and *ConvergeError.
//
// Where the readings allow more than one shape, one whose outline does not cross itself goes before one that does, then one
// that fits clearly better, then one with fewer reflex corners, so a convex one first, then the larger one. The others that
// do not cross are Result.Others. A net whose only shapes cross is adjusted all the same.
func Adjust(n Net) (*Result, error) {
	if err := n.check(); err != nil {
		return nil, err
	}
	if err := n.loose(); err != nil {
		return nil, err
	}
	starts, err := n.starts()
	if err != nil {
		return nil, err
	}
	var first error
	var shapes []shape
	for _, s := range starts {
		f, err := n.settle(s)
		if err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		shapes = append(shapes, f)
	}
	if len(shapes) == 0 {
		return nil, first
	}
	shapes = likely(shapes)
	res, err := n.assess(shapes[0])
	if err != nil {
		return nil, err
	}
	res.Others = n.others(res, shapes[1:])
	return res, nil
}

func (n Net) check() error {
	if n.Corners < 3 || n.Corners > MostCorners {
		return &InputError{-1, fmt.Sprintf("%d corners; accepted: 3 to %d", n.Corners, MostCorners)}
	}
	for i, d := range n.Distances {
		switch {
		case d.From < 0 || d.From >= n.Corners || d.To < 0 || d.To >= n.Corners:
			return &InputError{i, fmt.Sprintf("from %d to %d; accepted: corners 0 to %d", d.From, d.To, n.Corners-1)}
		case d.From == d.To:
			return &InputError{i, fmt.Sprintf("from corner %d to itself; accepted: two corners", d.From)}
		case !within(d.Length, 1e-3, 1e6):
			return &InputError{i, fmt.Sprintf("a length of %g mm; accepted: 0.001 to 1e6 mm", d.Length)}
		case !within(d.StdUnc, 1e-6, 1e5):
			return &InputError{i, fmt.Sprintf("a standard uncertainty of %g mm; accepted: 1e-6 to 1e5 mm", d.StdUnc)}
		}
	}
	return nil
}

func within(v, least, most float64) bool { return v >= least && v <= most && !math.IsNaN(v) }
