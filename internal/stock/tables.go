package stock

import (
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"sync"
)

//go:embed tables/*.csv
var tableFiles embed.FS

// tableRow is one row of an embedded table by column name. A column that is not there is our mistake.
type tableRow struct {
	table  string
	line   int
	fields map[string]string
}

// readTable reads an embedded CSV table: # lines are remarks, the first other line names the columns.
func readTable(name string) []tableRow {
	text, err := tableFiles.ReadFile("tables/" + name)
	if err != nil {
		panic("stock: " + err.Error())
	}
	r := csv.NewReader(strings.NewReader(string(text)))
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil || len(all) < 2 {
		panic(fmt.Sprintf("stock: table %s: %d rows, %v", name, len(all), err))
	}
	rows := make([]tableRow, 0, len(all)-1)
	for i, rec := range all[1:] {
		f := make(map[string]string, len(rec))
		for k, column := range all[0] {
			f[column] = rec[k]
		}
		rows = append(rows, tableRow{table: name, line: i + 1, fields: f})
	}
	return rows
}

func (t tableRow) text(column string) string {
	v, ok := t.fields[column]
	if !ok {
		panic(fmt.Sprintf("stock: table %s has no column %s", t.table, column))
	}
	return v
}

// number reads a column; an empty one is 0, which means not known.
func (t tableRow) number(column string) float64 {
	s := t.text(column)
	if s == "" {
		return 0
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(fmt.Sprintf("stock: table %s row %d: %s: %v", t.table, t.line, column, err))
	}
	return v
}

func (t tableRow) origin() Origin { return Origin{Source: t.text("source"), Status: t.text("status")} }

// From the units of the materials table to those of the house.
const (
	gigapascal = 1e3   // MPa
	kgPerM3    = 1e-12 // tonne/mm³
	perMillion = 1e-6
)

var materials = sync.OnceValue(func() []Material {
	var out []Material
	index := map[string]GalvanicIndex{}
	for _, g := range galvanicTable() {
		index[g.Key] = g
	}
	for _, t := range readTable("materials.csv") {
		m := Material{ID: t.text("id"), Name: t.text("name"), Form: t.text("form"), Family: Family(t.text("family")),
			E: t.number("E_GPa") * gigapascal, Nu: t.number("nu"), Rho: t.number("rho_kg_m3") * kgPerM3, CTE: t.number("cte_um_per_mK") * perMillion,
			Yield: t.number("yield_MPa"), Ultimate: t.number("ultimate_MPa"), ShearUltimate: t.number("shear_MPa"),
			BearingUltimate: t.number("bearing20_MPa"), BearingUltimate1: t.number("bearing15_MPa"), Note: t.text("note"), Origin: t.origin()}
		m.setGalvanic(t.text("galvanic"), index)
		out = append(out, m)
	}
	return out
})

// setGalvanic takes the anodic index from its table; an empty key means that none is known.
func (m *Material) setGalvanic(key string, index map[string]GalvanicIndex) {
	if key == "" {
		m.Galvanic = -1
		return
	}
	g, ok := index[key]
	if !ok {
		panic("stock: material " + m.ID + " has no galvanic row " + key)
	}
	m.Galvanic, m.GalvanicOrigin = g.Volts, g.Origin
}

// Materials lists the embedded materials in the order of their table. The caller owns the slice.
func Materials() []Material { return append([]Material(nil), materials()...) }

// MaterialByID finds an embedded material. The caller owns the copy.
func MaterialByID(id string) (*Material, bool) {
	for _, m := range materials() {
		if m.ID == id {
			return &m, true
		}
	}
	return nil, false
}

// Families lists the families that a material may have.
func Families() []Family {
	return []Family{Aluminium, Steel, Stainless, Titanium, GlassFibre, CarbonFibre, Plastic, Wood, Seal}
}

// GalvanicIndex is one row of the anodic index: volts against gold.
type GalvanicIndex struct {
	Key, Name string
	Volts     float64
	Note      string
	Origin
}

var galvanicTable = sync.OnceValue(func() []GalvanicIndex {
	var out []GalvanicIndex
	for _, t := range readTable("galvanic.csv") {
		out = append(out, GalvanicIndex{Key: t.text("key"), Name: t.text("name"), Volts: t.number("volts"), Note: t.text("note"), Origin: t.origin()})
	}
	return out
})

// GalvanicIndices lists the anodic index, noblest first. The caller owns the slice.
func GalvanicIndices() []GalvanicIndex { return append([]GalvanicIndex(nil), galvanicTable()...) }

var speeds = sync.OnceValue(func() []Speed {
	var out []Speed
	for _, t := range readTable("speeds.csv") {
		out = append(out, Speed{Family: Family(t.text("family")), Tool: t.text("tool"), LowMPM: t.number("low_m_min"), HighMPM: t.number("high_m_min"),
			CountersinkDivisor: t.number("countersink_divisor"), Origin: t.origin()})
	}
	return out
})

// Speeds lists the cutting speeds in the order of their table. The caller owns the slice.
func Speeds() []Speed { return append([]Speed(nil), speeds()...) }

// SpeedFor finds the cutting speed of a family with a tool, "hss" or "carbide". False: no row; such a tool is not advised.
func SpeedFor(f Family, tool string) (Speed, bool) {
	for _, s := range speeds() {
		if s.Family == f && s.Tool == tool {
			return s, true
		}
	}
	return Speed{}, false
}
