// Package drawing is what is measured from: a decided plan as full-size templates, sections and panels to scale.
//
// Nothing is decided here. Drawings take their numbers from the plan, so that a template, a section, a card and a table of
// one plan cannot differ; what the plan does not know is left out or said to be not known.
package drawing
