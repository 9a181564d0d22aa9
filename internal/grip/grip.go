// Package grip says how a stud, a receptacle and a stack close: deflection, preload, torque, bands.
//
// Depths are measured along the stud's axis from its seat, inwards positive (docs/theory.md, A station):
// T stack, R reach, h receptacle depth, s shims, z free wire, δ = z − R deflection when locked.
package grip
