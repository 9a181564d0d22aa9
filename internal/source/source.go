// Package source turns YAML text into nodes that know their line and column, and collects faults while they are read.
//
// It wraps the one YAML library. A node of the wrong kind is a fault, never a crash; a key that nobody asked for is a
// fault with the nearest known key.
package source
