// Package fem writes input files for an outside finite element program: panels of our own on meshes of its own, quadratic shells
// on supports whose laws are broken lines. Its tests run that program live and compare its forces, gaps and frequencies with those
// of the panel model; the speed script takes the same input files.
package fem
