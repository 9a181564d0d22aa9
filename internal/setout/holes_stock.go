package setout

import "panelwright/internal/stock"

// holeOnSale lists the drills that can be bought.
func holeOnSale() []stock.Drill { return nil }

// holeCutting returns the cutting speed for a family.
func holeCutting(f stock.Family, tool string) (stock.Speed, bool) { return stock.Speed{}, false }
