// Package fem holds no code: its tests run an outside finite element program live on panels of our own, with quadratic shells
// (or solids) on meshes of its own, and compare its forces, gaps and frequencies with those of the panel model.
package fem
