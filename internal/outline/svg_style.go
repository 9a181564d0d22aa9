package outline

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// svgRule is one selector of a style sheet with its declarations. Only a tag, a class and an id are known as selectors.
type svgRule struct {
	tag, class, id string
	set            map[string]string
}

// svgMostRules bounds the rules of a drawing, for each element is compared with each.
const svgMostRules = 500

// svgRules reads a style element. What its selectors do not say in the three known ways is left out.
func svgRules(n *svgNode) ([]svgRule, error) {
	css := svgUncommented(string(n.text))
	var out []svgRule
	for {
		open := strings.IndexByte(css, '{')
		if open < 0 {
			break
		}
		end := strings.IndexByte(css[open:], '}')
		if end < 0 {
			return nil, &Fault{Line: n.line, What: "<style>", Text: "a brace that is not closed", Hint: "save the drawing again as plain SVG"}
		}
		set := svgDeclarations(css[open+1 : open+end])
		for _, s := range strings.Split(css[:open], ",") {
			s = strings.TrimSpace(s)
			rule := svgRule{set: set}
			switch {
			case s == "" || strings.ContainsAny(s, " >+~:[*@"):
				continue
			case strings.HasPrefix(s, "#"):
				rule.id = s[1:]
			default:
				rule.tag, rule.class, _ = strings.Cut(s, ".")
			}
			if out = append(out, rule); len(out) > svgMostRules {
				return nil, &Fault{Line: n.line, What: "<style>", Text: fmt.Sprintf("more than %d rules; accepted: at most that many", svgMostRules), Hint: "save the outline alone, as plain SVG"}
			}
		}
		css = css[open+end+1:]
	}
	return out, nil
}

// svgUncommented puts a space for every comment.
func svgUncommented(css string) string {
	var out strings.Builder
	for {
		before, after, found := strings.Cut(css, "/*")
		out.WriteString(before)
		if !found {
			return out.String()
		}
		out.WriteByte(' ')
		if _, css, found = strings.Cut(after, "*/"); !found {
			return out.String()
		}
	}
}

func svgDeclarations(text string) map[string]string {
	out := map[string]string{}
	for _, d := range strings.Split(text, ";") {
		if k, v, ok := strings.Cut(d, ":"); ok {
			out[strings.ToLower(strings.TrimSpace(k))] = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(v), "!important"))
		}
	}
	return out
}

func (s svgRule) fits(n *svgNode) bool {
	if s.id != "" {
		return s.id == n.attr["id"]
	}
	if s.tag != "" && s.tag != n.name {
		return false
	}
	if s.class == "" {
		return true
	}
	for _, c := range strings.Fields(n.attr["class"]) {
		if c == s.class {
			return true
		}
	}
	return false
}

// svgKept are the properties that matter here. display is not inherited, but what it hides is hidden with all its content.
var svgKept = []string{"stroke", "fill", "display", "visibility", "transform"}

// styled applies an element's transform, layer and style.
func (r *svgReader) styled(n *svgNode, at svgAt) (svgAt, error) {
	style := map[string]string{}
	for k, v := range at.style {
		if k != "display" && k != "transform" {
			style[k] = v
		}
	}
	take := func(set map[string]string) {
		for _, k := range svgKept {
			if v := set[k]; v != "" && v != "inherit" {
				style[k] = v
			}
		}
	}
	take(n.attr)
	for _, pass := range []bool{false, true} { // ids win over the rest
		for _, rule := range r.rules {
			if (rule.id != "") == pass && rule.fits(n) {
				take(rule.set)
			}
		}
	}
	take(svgDeclarations(n.attr["style"]))
	at.style = style
	switch {
	case style["display"] == "none":
		at.hidden = "it is not shown (display: none)"
	case style["visibility"] == "hidden" || style["visibility"] == "collapse":
		if at.hidden == "" {
			at.hidden = "it is not shown (visibility: hidden)"
		}
	}
	if n.name == "g" || n.name == "svg" || n.name == "a" {
		if name := n.attr["label"]; name != "" {
			at.layer = name
		} else if name := n.attr["id"]; name != "" && n.name == "g" {
			at.layer = name
		}
	}
	if t := style["transform"]; t != "" && t != "none" {
		m, err := svgTransform(n, t)
		if err != nil {
			return at, err
		}
		at.m = m.then(at.m)
	}
	return at, nil
}

// svgColour is the colour by which a shape is told: its stroke's, else its fill's.
func svgColour(style map[string]string) string {
	c := style["stroke"]
	if svgUnseen(c) {
		c = style["fill"]
	}
	return svgHex(c)
}

// svgUnseen says of a stroke or a fill that is stated that it paints nothing.
func svgUnseen(c string) bool { return c == "" || c == "none" || c == "transparent" }

// svgNamed are the sixteen names of HTML 4 and two that drawing programs write.
var svgNamed = map[string]string{"black": "#000000", "silver": "#c0c0c0", "gray": "#808080", "grey": "#808080", "white": "#ffffff", "maroon": "#800000", "red": "#ff0000",
	"purple": "#800080", "fuchsia": "#ff00ff", "magenta": "#ff00ff", "green": "#008000", "lime": "#00ff00", "olive": "#808000", "yellow": "#ffff00", "navy": "#000080",
	"blue": "#0000ff", "teal": "#008080", "aqua": "#00ffff", "cyan": "#00ffff", "orange": "#ffa500"}

func svgHex(c string) string {
	c = strings.ToLower(strings.TrimSpace(c))
	switch {
	case c == "" || c == "none":
		return ""
	case svgNamed[c] != "":
		return svgNamed[c]
	case len(c) == 4 && c[0] == '#':
		return "#" + strings.Repeat(c[1:2], 2) + strings.Repeat(c[2:3], 2) + strings.Repeat(c[3:4], 2)
	case strings.HasPrefix(c, "rgb(") && strings.HasSuffix(c, ")"):
		var out strings.Builder
		out.WriteByte('#')
		for _, f := range strings.FieldsFunc(c[4:len(c)-1], func(r rune) bool { return r == ',' || r == ' ' }) {
			k := 1.0
			if strings.HasSuffix(f, "%") {
				f, k = f[:len(f)-1], 2.55
			}
			v, err := strconv.ParseFloat(f, 64)
			if err != nil || !(v >= 0 && v <= 255) {
				return c
			}
			fmt.Fprintf(&out, "%02x", int(math.Round(min(255, v*k))))
		}
		return out.String()
	}
	return c
}

// svgTransform reads a list of transforms.
func svgTransform(n *svgNode, text string) (affine, error) {
	bad := func(why string) (affine, error) {
		return identity, &Fault{Line: n.line, What: "transform", Text: quote(text) + ": " + why + "; accepted: matrix, translate, scale, rotate, skewX, skewY with their numbers", Hint: "flatten the transforms in the drawing and save it again"}
	}
	m := identity
	rest := strings.TrimLeft(text, " ,\t\r\n")
	for count := 0; rest != ""; count++ {
		open, end := strings.IndexByte(rest, '('), strings.IndexByte(rest, ')')
		if open < 0 || end < open || count > 1000 {
			return bad("not a list of transforms")
		}
		name := strings.TrimSpace(rest[:open])
		v, err := svgNumbers(n, "transform", svgPlainUnits(rest[open+1:end]))
		if err != nil {
			return identity, err
		}
		t, ok := svgOneTransform(name, v)
		if !ok {
			return bad(fmt.Sprintf("%s with %d numbers", quote(name), len(v)))
		}
		m = t.then(m) // the last written works first
		rest = strings.TrimLeft(rest[end+1:], " ,\t\r\n")
	}
	if d := m.det(); d == 0 || math.IsNaN(d) || math.IsInf(d, 0) {
		return bad("it leaves no area")
	}
	return m, nil
}

// svgPlainUnits drops the units that style sheets write in transforms: px and deg are what plain numbers mean.
func svgPlainUnits(s string) string {
	return strings.NewReplacer("px", "", "deg", "").Replace(s)
}

func svgOneTransform(name string, v []float64) (m affine, ok bool) {
	rad := math.Pi / 180
	switch {
	case name == "matrix" && len(v) == 6:
		return affine{v[0], v[1], v[2], v[3], v[4], v[5]}, true
	case name == "translate" && len(v) == 1:
		return moving(v[0], 0), true
	case name == "translate" && len(v) == 2:
		return moving(v[0], v[1]), true
	case name == "scale" && len(v) == 1:
		return scaling(v[0], v[0]), true
	case name == "scale" && len(v) == 2:
		return scaling(v[0], v[1]), true
	case name == "rotate" && len(v) == 1:
		return turning(v[0] * rad), true
	case name == "rotate" && len(v) == 3:
		return moving(-v[1], -v[2]).then(turning(v[0] * rad)).then(moving(v[1], v[2])), true
	case name == "skewX" && len(v) == 1:
		return affine{a: 1, c: math.Tan(v[0] * rad), d: 1}, true
	case name == "skewY" && len(v) == 1:
		return affine{a: 1, b: math.Tan(v[0] * rad), d: 1}, true
	}
	return identity, false
}

// svgUnits are CSS lengths in px, 96 to the inch [css-values].
var svgUnits = map[string]float64{"": 1, "px": 1, "in": 96, "cm": 96 / 2.54, "mm": 96 / 25.4, "q": 96 / 101.6, "pt": 96.0 / 72, "pc": 16}

// svgLength reads a number with its unit.
func svgLength(text string) (v float64, unit string, ok bool) {
	text = strings.ToLower(strings.TrimSpace(text))
	i := len(text)
	for i > 0 && (text[i-1] >= 'a' && text[i-1] <= 'z' || text[i-1] == '%') {
		i--
	}
	v, err := strconv.ParseFloat(text[:i], 64)
	return v, text[i:], err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// svgPhysical is a length of the outermost svg in mm; ok is false for one that is missing, per cent or not positive.
func svgPhysical(text string) (mm float64, ok bool) {
	v, unit, ok := svgLength(text)
	k, known := svgUnits[unit]
	return v * k * 25.4 / 96, ok && known && v > 0
}

// lengths reads attributes in user units; a missing one is 0, per cent is of the viewport.
func (r *svgReader) lengths(n *svgNode, at svgAt, names ...string) ([]float64, error) {
	out := make([]float64, len(names))
	for i, name := range names {
		text := n.attr[name]
		if text == "" || text == "auto" {
			continue
		}
		v, unit, ok := svgLength(text)
		k, known := svgUnits[unit]
		switch {
		case ok && unit == "%":
			whole := math.Sqrt((at.w*at.w + at.h*at.h) / 2)
			switch strings.TrimSuffix(strings.TrimSuffix(name, "1"), "2") {
			case "x", "cx", "rx", "width":
				whole = at.w
			case "y", "cy", "ry", "height":
				whole = at.h
			}
			v *= whole / 100
		case !ok || !known || math.Abs(v) > 1e12:
			return nil, &Fault{Line: n.line, What: "<" + n.name + ">", Text: fmt.Sprintf("%s for %s; accepted: a length in user units, px, mm, cm, in, pt, pc or %%", quote(text), name), Hint: "save the drawing again as plain SVG"}
		default:
			v *= k
		}
		out[i] = v
	}
	return out, nil
}
