// Package marking is what is laid on a panel, or stuck to it, so that work and parts find their place.
package marking
