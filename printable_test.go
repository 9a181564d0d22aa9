package panelwright

import (
	"testing"

	"panelwright/internal/sheet"
	"panelwright/internal/source"
)

// Every character that a job or a range may hold can be printed in both faces, so that no pack fails at its last step.
func TestPrintableIsInTheFaces(t *testing.T) {
	n := 0
	for r := rune(0); r <= 0x1FFFF; r++ {
		if !source.Printable(r) {
			continue
		}
		n++
		for _, f := range []sheet.Font{sheet.Regular, sheet.Bold} {
			if !f.Has(r) {
				t.Errorf("%q (%U) may stand in a job, and face %v cannot draw it", r, r, f)
			}
		}
	}
	if n < 500 {
		t.Errorf("only %d characters may stand in a job", n)
	}
	for _, r := range "äßéœŁ½⅜±≤Ωμ—“”’…€" {
		if !source.Printable(r) {
			t.Errorf("%q may not stand in a job", r)
		}
	}
	for _, r := range "\x00\x1b\u007f\u0085\u00ad\u061c\u0301\u200b\u200d\u200e\u200f\u2028\u202a\u202e\u2066\u2069\ufeff\ufffd" {
		if source.Printable(r) {
			t.Errorf("%U may stand in a job", r)
		}
	}
}
