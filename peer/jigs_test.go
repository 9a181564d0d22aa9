package peer

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Each jig's drawing lies on every station that its page says it is for: bush holes where holes.csv has them, fence or pins on the edge of
// the cutting drawing, the row's pin in the station before. Its STL is sound by admesh, its 3MF by the rules of the container; all parts
// are there with the volumes that the drawing's lines and arcs give; the plate's holes and pins, measured, are the drawing's.
func TestJigs(t *testing.T) {
	need(t, "admesh", "pdftotext")
	python := pythonWith(t, "ezdxf", "lxml", "numpy")
	eachPack(t, func(t *testing.T, p pack) { say(t, reads(t, python, "jigs.py", p.dir)) })
}

// Damage to one file of a jig, or to what it is compared with, is found out.
func TestJigsSeeDamage(t *testing.T) {
	need(t, "admesh", "pdftotext")
	python := pythonWith(t, "ezdxf", "lxml", "numpy")
	for name, damage := range map[string]struct {
		says string
		do   func(t *testing.T, p pack)
	}{
		"hole moved in the schedule": {"are not where holes.csv has", func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "x_mm", 1, addTo(t, 0.05)) }},
		"hole moved in the drawing": {"the DXF's BUSH_HOLES", func(t *testing.T, p pack) {
			alter(t, p, "jig-1.dxf", "AcDbCircle\n 10\n0.0\n", "AcDbCircle\n 10\n0.05\n")
		}},
		"station moved along y": {"are not where holes.csv has", func(t *testing.T, p pack) { alter(t, p, "plan.json", `"y_mm": 22.225,`, `"y_mm": 22.5,`) }},
		"fence moved in the drawing": {"the fence is 22.425", func(t *testing.T, p pack) {
			alter(t, p, "jig-1.dxf", "\n 20\n-22.225\n", "\n 20\n-22.425\n")
			alter(t, p, "jig-1.dxf", "\n 21\n-22.225\n", "\n 21\n-22.425\n")
		}},
		"pitch of the row": {"row's pitch", func(t *testing.T, p pack) {
			alter(t, p, "jig-1-row-1.dxf", "AcDbCircle\n 10\n-26", "AcDbCircle\n 10\n-27")
		}},
		"triangle flipped in STL": {"STL: admesh: Facets reversed", func(t *testing.T, p pack) {
			alterSTL(t, p, "jig-1.stl", func(b []byte) []byte {
				second, third := b[84+24:84+36], b[84+36:84+48]
				first := bytes.Clone(second)
				copy(second, third)
				copy(third, first)
				return b
			})
		}},
		"facet dropped in STL": {"STL: admesh: Total disconnected facets", func(t *testing.T, p pack) {
			alterSTL(t, p, "jig-1.stl", func(b []byte) []byte {
				binary.LittleEndian.PutUint32(b[80:], binary.LittleEndian.Uint32(b[80:])-1)
				return b[:len(b)-50]
			})
		}},
		"normal turned in STL": {"STL: admesh: Normals fixed", func(t *testing.T, p pack) {
			alterSTL(t, p, "jig-1.stl", func(b []byte) []byte {
				b[84+3], b[84+7], b[84+11] = b[84+3]^0x80, b[84+7]^0x80, b[84+11]^0x80
				return b
			})
		}},
		"STL larger by 1 in 100,000": {"STL: plate has", func(t *testing.T, p pack) { alterSTL(t, p, "jig-1.stl", scaled(1.00001)) }},
		"STL larger by 1 in 1000":    {"no round hole of the plate's solid", func(t *testing.T, p pack) { alterSTL(t, p, "jig-1.stl", scaled(1.001)) }},
		"unit of 3MF":                {"3MF: unit is inch", func(t *testing.T, p pack) { alter3MF(t, p, "jig-1.3mf", `unit="millimeter"`, `unit="inch"`) }},
		"item of 3MF":                {"3MF: the build has", func(t *testing.T, p pack) { alter3MF(t, p, "jig-1.3mf", `<item objectid="2"`, `<item objectid="3"`) }},
		"triangle flipped in 3MF": {"edges do not run once each way", func(t *testing.T, p pack) {
			alter3MF(t, p, "jig-1.3mf", `<triangle v1="`, `<triangle v2="`, ` v2="`, ` v1="`)
		}},
		"vertex moved in 3MF": {"3MF: jig-1 plate has", func(t *testing.T, p pack) { alter3MF(t, p, "jig-1.3mf", `z="0"`, `z="-0.5"`) }},
		"part across another in 3MF": {"lies across", func(t *testing.T, p pack) {
			at := placesOf3MF(t, p, "jig-1.3mf")
			alter3MF(t, p, "jig-1.3mf", at[2], at[1])
		}},
		"index of 3MF": {"beyond", func(t *testing.T, p pack) { alter3MF(t, p, "jig-1.3mf", `v3="`, `v3="9999`) }},
		"type of 3MF":  {"content type of .model", func(t *testing.T, p pack) { alter3MF(t, p, "jig-1.3mf", "3dmanufacturing-3dmodel+xml", "3dmodel+xml") }},
		"page of another name": {"alone", func(t *testing.T, p pack) {
			for _, ending := range []string{".dxf", ".stl", ".3mf"} {
				if err := os.Rename(filepath.Join(p.dir, "jig-1"+ending), filepath.Join(p.dir, "jig-9"+ending)); err != nil {
					t.Fatal(err)
				}
			}
		}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := copyPack(t, packs[1])
			damage.do(t, p)
			sees(t, reads(t, python, "jigs.py", p.dir), damage.says)
		})
	}
}

// A pin moved away from a curved edge is found out.
func TestJigsSeePinOffTheEdge(t *testing.T) {
	need(t, "admesh", "pdftotext")
	python := pythonWith(t, "ezdxf", "lxml", "numpy")
	p := copyPack(t, packs[0])
	alter(t, p, "jig-3.dxf", " 20\n-23.0\n", " 20\n-22.8\n")
	sees(t, reads(t, python, "jigs.py", p.dir), "off the edge of Floor tray 1")
}

// alterSTL changes the bytes of a solid.
func alterSTL(t *testing.T, p pack, file string, change func([]byte) []byte) {
	t.Helper()
	path := filepath.Join(p.dir, file)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, change(data), 0o644); err != nil {
		t.Fatal(err)
	}
}

// scaled makes all coordinates larger.
func scaled(f float64) func([]byte) []byte {
	return func(b []byte) []byte {
		for at := 84; at < len(b); at += 50 {
			for i := at + 12; i < at+48; i += 4 {
				v := math.Float32frombits(binary.LittleEndian.Uint32(b[i:]))
				binary.LittleEndian.PutUint32(b[i:], math.Float32bits(float32(float64(v)*f)))
			}
		}
		return b
	}
}

// filesOf3MF are the files in a 3MF, in its order.
func filesOf3MF(t *testing.T, p pack, file string) (names, texts []string) {
	t.Helper()
	r, err := zip.OpenReader(filepath.Join(p.dir, file))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for _, f := range r.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		names, texts = append(names, f.Name), append(texts, string(text))
	}
	return names, texts
}

var itemPlace = regexp.MustCompile(`<item objectid="[0-9]+" transform="([^"]*)"`)

// placesOf3MF are the transforms of a file's items, in order.
func placesOf3MF(t *testing.T, p pack, file string) (at []string) {
	t.Helper()
	_, texts := filesOf3MF(t, p, file)
	for _, text := range texts {
		for _, m := range itemPlace.FindAllStringSubmatch(text, -1) {
			at = append(at, m[1])
		}
	}
	if len(at) < 3 {
		t.Fatalf("%s has %d items", file, len(at))
	}
	return at
}

// alter3MF packs a 3MF anew, with the first place in one of its files that reads old changed; pairs of old and new follow each other, each
// after the place before.
func alter3MF(t *testing.T, p pack, file string, pairs ...string) {
	t.Helper()
	names, texts := filesOf3MF(t, p, file)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	altered := false
	for k, name := range names {
		done, rest := "", texts[k]
		for i := 0; i+1 < len(pairs); i += 2 {
			if before, after, ok := strings.Cut(rest, pairs[i]); ok {
				done, rest, altered = done+before+pairs[i+1], after, true
			}
		}
		part, err := w.Create(name)
		if err == nil {
			_, err = io.WriteString(part, done+rest)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if !altered {
		t.Fatalf("%s has no %q to alter", file, pairs[0])
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(p.dir, file), out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// Every PDF of a pack is without fault to qpdf, streams and all; one that is cut short is not.
func TestEveryPDFChecked(t *testing.T) {
	need(t, "qpdf")
	eachPack(t, func(t *testing.T, p pack) {
		files, err := filepath.Glob(filepath.Join(p.dir, "*.pdf"))
		if err != nil || len(files) < 7 {
			t.Fatalf("%d PDFs, %v: want templates, mirrored templates, strips, stickers, card, labels, jigs", len(files), err)
		}
		for _, f := range files {
			if out, err := runIn(".", "qpdf", "--check", f); err != nil || !bytes.Contains(out, []byte("No syntax or stream encoding errors found")) {
				t.Errorf("%s: %v\n%s", filepath.Base(f), err, out)
			}
			data, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			short := filepath.Join(t.TempDir(), filepath.Base(f))
			if err := os.WriteFile(short, data[:len(data)-200], 0o644); err != nil {
				t.Fatal(err)
			}
			if _, err := runIn(".", "qpdf", "--check", short); err == nil {
				t.Errorf("%s: its end is cut off, and nothing was found", filepath.Base(f))
			}
		}
	})
}
