package setout

import (
	"fmt"
	"math"
)

// Doubtful says whether a check that is not known misses its limit by what is estimated: no verdict, but a warning.
func (k Check) Doubtful() bool {
	return k.Verdict == NotKnown && !k.NoNumber && k.Margin < 0
}

// Estimated turns a check whose value rests on the tributary-area estimate into one that is not known: the estimate can be
// low by half, and knows no prying.
func (k Check) Estimated() Check {
	k.Verdict = NotKnown
	k.Rests = append(k.Rests, RestsTributaryArea)
	k.Cure = "the load at a station is an estimate by area: only a model of the panel can decide this"
	return k
}

// Missing turns a check into one that is not known for want of a field.
func (k Check) Missing(field string) Check {
	k.Verdict, k.Margin = NotKnown, math.NaN()
	k.Cure = "give " + field
	return k
}

// CuredBy sets what would make a check hold, when it does not.
func (k Check) CuredBy(format string, args ...any) Check {
	if k.Verdict == DoesNotHold {
		k.Cure = fmt.Sprintf(format, args...)
	}
	return k
}
