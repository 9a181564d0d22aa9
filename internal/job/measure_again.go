package job

import (
	"fmt"
	"math"
)

// developedMost is how far, mm, a developed outline may stand off its cylinder, or one step of it come out longer or shorter, before its
// prints say so: about what a tape can tell. Common practice, no source.
const developedMost = 1.0

// ImportWarnings says what makes an outline out of a file not fit to be cut from before it was measured again, a sentence each: an edge
// in space that no sheet follows without stretching. None for an outline that was drawn flat, or developed well.
func (j *Job) ImportWarnings(pan *Panel) []string {
	m := pan.Imported
	if m == nil || m.Developed == nil {
		return nil
	}
	d := m.Developed
	if d.Ruled <= developedMost && math.Abs(d.Step) <= developedMost {
		return nil
	}
	return []string{fmt.Sprintf("The outline out of %s was laid flat from points in space, and stands up to %s off the cylinder that was unrolled; its worst step, from point %d, came out %s. Measure the panel's edges and diagonals against the template before anything is cut.",
		m.File, j.size(d.Ruled), d.StepAt, j.signed(d.Step))}
}

// MeasureAgain is what must stand on everything that is cut from: SurveyWarnings and ImportWarnings.
func (j *Job) MeasureAgain(pan *Panel) []string {
	return append(j.SurveyWarnings(pan), j.ImportWarnings(pan)...)
}

// things counts.
func things(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
