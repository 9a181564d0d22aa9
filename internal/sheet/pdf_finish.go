package sheet

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
)

var (
	rootOf  = regexp.MustCompile(`/Root (\d+) 0 R`)
	infoOf  = regexp.MustCompile(`/Info (\d+) 0 R`)
	startAt = regexp.MustCompile(`startxref\s+(\d+)\s+%%EOF\s*$`)
	dates   = regexp.MustCompile(`/(CreationDate|ModDate) \(`)
)

// edit replaces the bytes from at to end of a file.
type edit struct {
	at, end int
	text    string
}

// finish does to a file of fpdf's what fpdf cannot: it asks for unscaled printing in the catalog and, when told so, takes
// the dates out of the document information. The cross-reference table is written anew for the moved objects. A file that
// is not built as fpdf builds it panics: the library's version is fixed, so that would be a mistake of ours.
func finish(p []byte, dropDates bool) []byte {
	x, err := readXref(p)
	if err != nil {
		panic("sheet: " + err.Error())
	}
	catalog := x.offset[x.root]
	open := catalog + bytes.Index(p[catalog:], []byte("<<"))
	edits := []edit{{open + 2, open + 2, "\n/ViewerPreferences <</PrintScaling /None>>"}}
	if dropDates {
		edits = append(dateEdits(p, x), edits...) // the information stands before the catalog
	}
	out := apply(p, x, edits)
	copy(out, "%PDF-1.6") // the version that brought /PrintScaling; fpdf writes an older one of the same length
	return out
}

// xref is the classic cross-reference table of a file.
type xref struct {
	at, root, info int
	offset         []int // by object number; object 0 heads the list of free ones
}

func readXref(p []byte) (xref, error) {
	tail := p[max(0, len(p)-2048):]
	start, root, info := startAt.FindSubmatch(tail), rootOf.FindSubmatch(tail), infoOf.FindSubmatch(tail)
	if start == nil || root == nil || info == nil {
		return xref{}, fmt.Errorf("no classic trailer in the PDF")
	}
	x := xref{at: number(start[1]), root: number(root[1]), info: number(info[1])}
	var n int
	if x.at >= len(p) {
		return xref{}, fmt.Errorf("cross-reference table at %d of %d bytes", x.at, len(p))
	}
	if _, err := fmt.Sscanf(string(p[x.at:min(len(p), x.at+40)]), "xref\n0 %d\n", &n); err != nil {
		return xref{}, fmt.Errorf("cross-reference table of the PDF: %w", err)
	}
	head := len(fmt.Sprintf("xref\n0 %d\n", n))
	const row = 20 // bytes, fixed by the format
	x.offset = make([]int, n)
	for i := range x.offset {
		x.offset[i] = number(p[x.at+head+i*row:][:10])
	}
	if x.root >= n || x.info >= n {
		return xref{}, fmt.Errorf("root %d and info %d of %d objects", x.root, x.info, n)
	}
	return x, nil
}

func number(b []byte) int {
	n, err := strconv.Atoi(string(b))
	if err != nil {
		panic("sheet: PDF holds no number where one must be: " + err.Error())
	}
	return n
}

// dateEdits takes the date entries out of the document information; each is one line, as fpdf writes it.
func dateEdits(p []byte, x xref) []edit {
	from := x.offset[x.info]
	to := from + bytes.Index(p[from:], []byte("\nendobj"))
	var out []edit
	for _, m := range dates.FindAllIndex(p[from:to], -1) {
		at := from + m[0]
		out = append(out, edit{at, at + bytes.IndexByte(p[at:], '\n') + 1, ""})
	}
	return out
}

// apply makes the edits, which are in order and stand in objects, and writes the table of the moved objects.
func apply(p []byte, x xref, edits []edit) []byte {
	var out bytes.Buffer
	done := 0
	for _, e := range edits {
		out.Write(p[done:e.at])
		out.WriteString(e.text)
		done = e.end
	}
	out.Write(p[done:x.at])
	// Edits are compared with the old offset, so that one does not count for another.
	shift := func(offset int) int {
		d := 0
		for _, e := range edits {
			if e.at < offset {
				d += len(e.text) - (e.end - e.at)
			}
		}
		return offset + d
	}
	at := out.Len()
	fmt.Fprintf(&out, "xref\n0 %d\n0000000000 65535 f \n", len(x.offset))
	for _, o := range x.offset[1:] {
		fmt.Fprintf(&out, "%010d 00000 n \n", shift(o))
	}
	fmt.Fprintf(&out, "trailer\n<<\n/Size %d\n/Root %d 0 R\n/Info %d 0 R\n>>\nstartxref\n%d\n%%%%EOF\n", len(x.offset), x.root, x.info, at)
	return out.Bytes()
}
