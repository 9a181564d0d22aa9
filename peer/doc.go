// Package peer holds no code: its tests build the command, plan the examples, and open every file of each pack with readers
// that are not ours: a PDF library, a second one, a browser, a spreadsheet reader, an SVG renderer, a checksum program. It
// is a module of its own so that nobody who builds the command inherits what these tests need.
package peer
