package web

import "strings"

// diffLine is one line of a comparison: Sign is "−" for the old text only, "+" for the new only, "" for both. Gap stands for
// lines left out.
type diffLine struct {
	Sign     string
	Old, New int // line numbers, 0: not in that text
	Text     string
	Gap      int // lines of both texts that are left out here
}

// Bounds of a comparison: beyond diffCells the middle part is shown as taken out and put in whole.
const (
	diffCells   = 4 << 20
	diffContext = 3
)

// diffLines compares two texts line by line: the longest common subsequence of what is left between equal beginnings and ends.
func diffLines(before, after string) []diffLine {
	a, b := splitLines(before), splitLines(after)
	head := 0
	for head < len(a) && head < len(b) && a[head] == b[head] {
		head++
	}
	tail := 0
	for tail < len(a)-head && tail < len(b)-head && a[len(a)-1-tail] == b[len(b)-1-tail] {
		tail++
	}
	var out []diffLine
	for i := range head {
		out = append(out, diffLine{Old: i + 1, New: i + 1, Text: a[i]})
	}
	out = append(out, diffMiddle(a[head:len(a)-tail], b[head:len(b)-tail], head)...)
	for i := range tail {
		at, bt := len(a)-tail+i, len(b)-tail+i
		out = append(out, diffLine{Old: at + 1, New: bt + 1, Text: a[at]})
	}
	return foldEqual(out)
}

func splitLines(text string) []string {
	text = strings.TrimSuffix(text, "\n")
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}

func diffMiddle(a, b []string, offset int) []diffLine {
	var out []diffLine
	takeOut := func(i int) { out = append(out, diffLine{Sign: "−", Old: offset + i + 1, Text: a[i]}) }
	putIn := func(i int) { out = append(out, diffLine{Sign: "+", New: offset + i + 1, Text: b[i]}) }
	if (len(a)+1)*(len(b)+1) > diffCells {
		for i := range a {
			takeOut(i)
		}
		for i := range b {
			putIn(i)
		}
		return out
	}
	// common[i*w+j] is the length of the longest common subsequence of a[i:] and b[j:].
	w := len(b) + 1
	common := make([]int32, (len(a)+1)*w)
	for i := len(a) - 1; i >= 0; i-- {
		for j := len(b) - 1; j >= 0; j-- {
			if a[i] == b[j] {
				common[i*w+j] = common[(i+1)*w+j+1] + 1
			} else {
				common[i*w+j] = max(common[(i+1)*w+j], common[i*w+j+1])
			}
		}
	}
	i, j := 0, 0
	for i < len(a) || j < len(b) {
		switch {
		case i < len(a) && j < len(b) && a[i] == b[j]:
			out = append(out, diffLine{Old: offset + i + 1, New: offset + j + 1, Text: a[i]})
			i, j = i+1, j+1
		case i < len(a) && (j == len(b) || common[(i+1)*w+j] >= common[i*w+j+1]):
			takeOut(i)
			i++
		default:
			putIn(j)
			j++
		}
	}
	return out
}

// foldEqual leaves out lines of both texts that are far from any difference.
func foldEqual(lines []diffLine) []diffLine {
	near := make([]bool, len(lines))
	for i, l := range lines {
		if l.Sign == "" {
			continue
		}
		for k := max(0, i-diffContext); k <= min(len(lines)-1, i+diffContext); k++ {
			near[k] = true
		}
	}
	var out []diffLine
	for i, l := range lines {
		switch {
		case near[i]:
			out = append(out, l)
		case len(out) > 0 && out[len(out)-1].Gap > 0:
			out[len(out)-1].Gap++
		default:
			out = append(out, diffLine{Gap: 1})
		}
	}
	return out
}
