// Package peer holds no code: its tests build the command, plan the examples, and open every file of each pack with readers
// that are not ours: a PDF library, a second one, a browser, a spreadsheet reader, an SVG renderer, a checksum program. It
// is a module of its own so that nobody who builds the command inherits what these tests need.
//
// Run it with `go test -count=1 ./...`: what is under test lies outside this module, so a kept result may be of old code.
package peer
