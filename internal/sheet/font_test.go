package sheet

import (
	"errors"
	"io"
	"math/rand"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// usedRunes are the letters beyond ASCII that drawings and cards of this program set.
const usedRunes = "Ø ø µ μ ½ ¼ ¾ ⅛ ⅜ ⅝ ⅞ ″ ′ ± × · ≤ ≥ ≈ ≠ ° δ Δ − – — → ← ↑ ↓ ↻ ↺ ² ³ √ α β λ ν π ρ σ τ φ Σ ▢ ☐ ✓ ✗ • … ⌀ ∅ ⊥ ∥ ⚠ ‘ ’ “ ” « » § ‰ € ₂ ¹ ⁻"

func TestFacesHaveTheLettersInUse(t *testing.T) {
	ascii := make([]rune, 0, 95)
	for r := ' '; r <= '~'; r++ {
		ascii = append(ascii, r)
	}
	// Names and notes come in the languages of those who write them.
	latin := "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖÙÚÛÜÝÞßàáâãäåæçèéêëìíîïðñòóôõöùúûüýþÿĀāĂăĄąĆćČčĎďĐđĒēĘęĚěĞğĢģİıĶķĻļŁłŃńŅņŇňŐőŒœŔŕŘřŚśŞşŠšŢţŤťŪūŮůŰűŹźŻżŽžȘșȚț"
	greek, cyrillic := "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρςστυφχψωάέήίόύώ", "АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯабвгдежзийклмнопрстуфхцчшщъыьэюяёђєіїјљњћўџґ"
	for _, f := range []Font{Regular, Bold} {
		for _, r := range string(ascii) + usedRunes + latin + greek + cyrillic {
			if !f.Has(r) {
				t.Errorf("face %d lacks %q (%U)", f, r, r)
			}
		}
		if f.Has('語') || f.Has('\n') || f.Has('\t') || f.Has(0x1F600) {
			t.Errorf("face %d claims letters that it has not", f)
		}
	}
}

// A letter that the face lacks stops both writers, also in a clip that shows nothing.
func TestMissingGlyphIsAnErrorOfBothWriters(t *testing.T) {
	for _, text := range []string{"panel 語", "two\nlines", "tab\there", "bell\a"} {
		item := Text{At: pt(1, 1), Size: 3, S: text, Font: Bold}
		for name, s := range map[string]Sheet{
			"plain":   {Title: "T", W: 50, H: 50, Items: []Item{item}},
			"clipped": {Title: "T", W: 50, H: 50, Items: []Item{Clip{0, 0, 9, 9, []Item{Clip{20, 20, 5, 5, []Item{item}}}}}},
		} {
			for writer, err := range map[string]error{
				"PDF": WritePDF(io.Discard, []Sheet{s}, Info{}), "SVG": WriteSVG(io.Discard, s),
				"fragment": SVGFragment(io.Discard, s, Fragment{ID: "a"}),
			} {
				var missing *MissingGlyph
				if !errors.As(err, &missing) {
					t.Errorf("%s, %s, %q: error %v", writer, name, text, err)
				} else if missing.Font != Bold || missing.Sheet != "T" || missing.Text != text || !strings.ContainsRune(text, missing.Rune) || Bold.Has(missing.Rune) {
					t.Errorf("%s, %s, %q: %+v", writer, name, text, missing)
				}
			}
		}
	}
	got := (&MissingGlyph{Sheet: "T", Text: "panel 語", Rune: '語', Font: Bold}).Error()
	if want := `the bold face has no letter for '語' (U+8A9E), in text "panel 語" on sheet "T"; write it in other letters`; got != want {
		t.Errorf("message\n%s, want\n%s", got, want)
	}
}

// The width that layouts count with is the one with which the PDF sets the text.
func TestTextWidthIsThePDFs(t *testing.T) {
	f := fpdf.New("P", "mm", "A4", "")
	f.AddUTF8FontFromBytes("x", "", regularTTF)
	f.AddUTF8FontFromBytes("x", "B", boldTTF)
	f.AddPage()
	for _, s := range []string{"", "H", "Ø 4.8 ± 0.1", "Set one shim more", usedRunes} {
		for i, style := range []string{"", "B"} {
			f.SetFont("x", style, 10*perMM)
			want(t, "width of "+s, TextWidth(s, 10, Font(i)), f.GetStringWidth(s), 1e-9)
		}
	}
}

func TestCapHeight(t *testing.T) {
	for name, ttf := range map[string][]byte{"regular": regularTTF, "bold": boldTTF} {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			t.Fatal(err)
		}
		var buf sfnt.Buffer
		bounds := func(r rune) fixed.Rectangle26_6 {
			i, _ := f.GlyphIndex(&buf, r)
			b, _, err := f.GlyphBounds(&buf, i, fixed.I(int(f.UnitsPerEm())), font.HintingNone)
			if err != nil {
				t.Fatal(err)
			}
			return b
		}
		em := float64(f.UnitsPerEm())
		want(t, name+" cap height", -float64(bounds('H').Min.Y)/64/em, CapHeight, 1e-9)
		if d := float64(bounds('g').Max.Y) / 64 / em; d > descender || d < 0.8*descender {
			t.Errorf("%s: g reaches %.3f below the base line, descender is %.3f", name, d, descender)
		}
	}
	want(t, "letters of 2.5 mm", Letters25*CapHeight, 2.5, 1e-12)
}

// Every line fits; the words come back whole and in order; no line could have taken the next word.
func TestWrap(t *testing.T) {
	rng := rand.New(rand.NewSource(1))
	letters := []rune("abcdefgh ijklm nopq ½Ø  \n")
	for n := range 300 {
		var b strings.Builder
		for range rng.Intn(120) {
			b.WriteRune(letters[rng.Intn(len(letters))])
		}
		s, width := b.String(), 1+rng.Float64()*60
		lines := Wrap(s, width, Letters25, Regular)
		if len(lines) == 0 {
			t.Fatalf("case %d: no lines", n)
		}
		for i, l := range lines {
			if TextWidth(l, Letters25, Regular) > width && len([]rune(l)) > 1 {
				t.Errorf("case %d: line %d %q is %.1f mm wide, room %.1f", n, i, l, TextWidth(l, Letters25, Regular), width)
			}
		}
		if squeeze(strings.Join(lines, "")) != squeeze(s) {
			t.Errorf("case %d: wrapped %q\nfrom %q", n, lines, s)
		}
	}
}

func squeeze(s string) string { return strings.NewReplacer(" ", "", "\n", "").Replace(s) }

func TestWrapCases(t *testing.T) {
	w := func(s string) float64 { return TextWidth(s, 3, Regular) }
	for _, c := range []struct {
		s     string
		width float64
		want  string
	}{
		{"", 10, ""},
		{"one two three", 1000, "one two three"},
		{"one two three", w("one two"), "one two|three"},
		{"one two it", w("one two") - 0.01, "one|two it"},
		{"a\n\nb", 10, "a||b"},
		{"abcdef", w("abc"), "abc|def"},
		{"x abcdef y", w("abc") + 0.001, "x|abc|def|y"},
		{"abc", 0, "a|b|c"},
		{"4.3\u00a0mm drill", w("4.3 mm"), "4.3\u00a0mm|drill"},
	} {
		if got := strings.Join(Wrap(c.s, c.width, 3, Regular), "|"); got != c.want {
			t.Errorf("Wrap(%q, %.2f) = %q, want %q", c.s, c.width, got, c.want)
		}
	}
}

func TestFitText(t *testing.T) {
	const s = "a long name of a panel"
	full := TextWidth(s, 5, Regular)
	if got, size := FitText(s, full, 5, 3, Regular); got != s || size != 5 {
		t.Errorf("fits, but became %q at %g", got, size)
	}
	got, size := FitText(s, full*0.8, 5, 3, Regular)
	if got != s {
		t.Errorf("smaller letters would do, but cut to %q", got)
	}
	want(t, "size", size, 4, 1e-9)
	got, size = FitText(s, full*0.3, 5, 3, Regular)
	if !strings.HasSuffix(got, "…") || !strings.HasPrefix(s, strings.TrimSuffix(got, "…")) || size != 3 {
		t.Errorf("cut to %q at %g", got, size)
	}
	if w := TextWidth(got, size, Regular); w > full*0.3 {
		t.Errorf("%q is %.2f wide, room %.2f", got, w, full*0.3)
	}
}

func BenchmarkTextWidth(b *testing.B) {
	for b.Loop() {
		TextWidth("Set one shim more under the receptacle, then close again.", Letters25, Regular)
	}
}

func BenchmarkWrap(b *testing.B) {
	text := strings.Repeat("Set one shim more under the receptacle, then close again. ", 20)
	for b.Loop() {
		Wrap(text, 150, Letters25, Regular)
	}
}
