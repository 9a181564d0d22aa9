package spread

import "math/big"

func newInt(v int64) *big.Int { return big.NewInt(v) }

func binomial(n, k int) *big.Int { return new(big.Int).Binomial(int64(n), int64(k)) }

func ratio(num, den *big.Int) float64 {
	f, _ := new(big.Rat).SetFrac(num, den).Float64()
	return f
}
