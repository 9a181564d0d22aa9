package job

import (
	"fmt"
	"math"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/source"
	"panelwright/internal/survey"
)

// Survey is how a panel's outline was taken with a tape: edges and diagonals, adjusted to the corners that fit them best.
type Survey struct {
	Corners []string       // names, anticlockwise as seen from outside
	Lengths []SurveyLength // as the file lists them; Result.Readings are in the same order
	Tape    Setting        // limits ± of one reading where a length does not state its own, mm
	Result  *survey.Result
	Pos     fault.Pos
}

// SurveyLength is one measured length between two corners, mm.
type SurveyLength struct {
	Name     string // as A-B
	From, To int    // into Survey.Corners
	Measured float64
	StdUnc   float64 // of limits ± a: a/√3 (JCGM 100:2008 4.3.7); of readings: theirs, or the tape's where that is larger
	Pos      fault.Pos
}

// Words of SurveyVerdict.
const (
	SurveyAgrees    = "agrees with the others"
	SurveySuspect   = "suspected of a gross error"
	SurveyOneOf     = "one of those suspected"
	SurveyWaits     = "to be judged when that is mended" // out of line itself, but less than the one suspected, which pulls at it
	SurveyUnchecked = "not checked by any other"
)

// Verdict says in words how length i stands beside the others.
func (s *Survey) Verdict(i int) string {
	switch {
	case !s.Result.Readings[i].Checked:
		return SurveyUnchecked
	case len(s.Result.Suspects) == 1 && s.Result.Suspects[0] == i:
		return SurveySuspect
	}
	for _, k := range s.Result.Suspects {
		if k == i {
			return SurveyOneOf
		}
	}
	if math.Abs(s.Result.Readings[i].Standard) > survey.Critical {
		return SurveyWaits
	}
	return SurveyAgrees
}

// SurveyWarnings says what is wrong with the survey of a panel's outline, a sentence each: a length that is suspected, lengths
// that do not agree, another shape with the same lengths. None for a panel that was not surveyed, or a survey that agrees.
func (j *Job) SurveyWarnings(p *Panel) []string {
	s := p.Survey
	if s == nil {
		return nil
	}
	var out []string
	r := s.Result
	switch {
	case len(r.Suspects) == 1:
		l, q := s.Lengths[r.Suspects[0]], r.Readings[r.Suspects[0]]
		way := "more"
		if q.Misclosure < 0 {
			way = "less"
		}
		out = append(out, fmt.Sprintf("Length %s, measured as %s, is suspected of a gross error: the other lengths make it %s %s. Measure it again before anything is cut.",
			l.Name, j.size(l.Measured), j.size(math.Abs(q.Misclosure)), way))
	case len(r.Suspects) > 1:
		var each []string
		for i, l := range s.Lengths {
			if s.Verdict(i) == SurveyOneOf {
				each = append(each, fmt.Sprintf("%s by %s", l.Name, j.signed(r.Readings[i].Misclosure)))
			}
		}
		out = append(out, "One of the lengths is suspected of a gross error, and the others cannot tell which. To agree with the rest, one alone would have to change: "+
			strings.Join(each, ", or ")+". Measure these again before anything is cut.")
	case r.Freedom > 0 && r.ChiSq > r.Limit:
		out = append(out, fmt.Sprintf("The lengths disagree with each other by %s times what the tape is said to be worth, more than chance explains in 19 of 20 surveys. Measure again, or say honestly what a reading is worth (tape).",
			decimal(r.Sigma0)))
	}
	if len(r.Others) > 0 {
		o := r.Others[0]
		var moved []string
		for _, c := range o.Moved {
			moved = append(moved, s.Corners[c])
		}
		stand := "stand"
		if len(moved) == 1 {
			stand = "stands"
		}
		text := fmt.Sprintf("Another shape has the same lengths, with %s elsewhere.", strings.Join(moved, ", "))
		if n := len(r.Others); n > 1 {
			text = fmt.Sprintf("At least %d other shapes have the same lengths; in one of them %s %s elsewhere.", n, strings.Join(moved, ", "), stand)
		}
		if a, b, here, there, ok := s.telling(o); ok {
			text += fmt.Sprintf(" Measure %s-%s: %s here, %s there.", s.Corners[a], s.Corners[b], j.size(here), j.size(there))
		}
		out = append(out, text)
	}
	return out
}

// SurveyNotes says which lengths nothing checks, a sentence each.
func (j *Job) SurveyNotes(p *Panel) []string {
	s := p.Survey
	if s == nil {
		return nil
	}
	var loose []string
	for i, l := range s.Lengths {
		if s.Verdict(i) == SurveyUnchecked {
			loose = append(loose, l.Name)
		}
	}
	if len(loose) == 0 {
		return nil
	}
	text := fmt.Sprintf("No other length checks %s: a mistake there goes unseen.", strings.Join(loose, ", "))
	if len(loose) == len(s.Lengths) {
		text = "No length is checked by any other: a mistake in one goes unseen."
	}
	if a, b, ok := s.unmeasured(); ok {
		text += fmt.Sprintf(" Measure %s-%s too.", s.Corners[a], s.Corners[b])
	}
	return []string{text}
}

// signed shows a length with its sign.
func (j *Job) signed(v float64) string {
	if v < 0 {
		return "-" + j.size(-v)
	}
	return "+" + j.size(v)
}

func (s *Survey) measured(a, b int) bool {
	for _, l := range s.Lengths {
		if l.From == a && l.To == b || l.From == b && l.To == a {
			return true
		}
	}
	return false
}

// telling is the length not measured that differs most between the shape chosen and another.
func (s *Survey) telling(o survey.Other) (a, b int, here, there float64, ok bool) {
	at := s.Result.At()
	for i := range at {
		for k := i + 1; k < len(at); k++ {
			h, t := at[i].Dist(at[k]), o.At[i].Dist(o.At[k])
			if !s.measured(i, k) && math.Abs(h-t) > math.Abs(here-there) {
				a, b, here, there, ok = i, k, h, t, true
			}
		}
	}
	return a, b, here, there, ok
}

// unmeasured is the longest diagonal that nobody measured.
func (s *Survey) unmeasured() (a, b int, ok bool) {
	at, longest := s.Result.At(), 0.0
	for i := range at {
		for k := i + 1; k < len(at); k++ {
			if d := at[i].Dist(at[k]); !s.measured(i, k) && d > longest {
				a, b, longest, ok = i, k, d, true
			}
		}
	}
	return a, b, ok
}

func decimal(v float64) string { return fmt.Sprintf("%.1f", v) }

// cornerNames joins corners for a message.
func cornerNames(all []string, which []int) string {
	var out []string
	for _, c := range which {
		out = append(out, source.Cut(all[c]))
	}
	return strings.Join(out, ", ")
}
