package sparse

// forwardDense solves with the s columns of a front of m rows, and takes what they bring off the rows below. y holds w right-hand
// sides side by side, 1 or together, and a right-hand side gets the same digits either way. With signs the diagonal is that of D,
// and is left for the way back.
func forwardDense(l []float64, m, s int, y []float64, w int, indefinite bool) {
	for k := 0; k < s; k += 4 {
		end := min(k+4, s)
		for j := k; j < end; j++ {
			for t := k; t < j; t++ {
				takeRow(y, j, t, w, l[t*m+j])
			}
			if !indefinite {
				scale(1/l[j*m+j], y[j*w:j*w+w])
			}
		}
		switch {
		case end == m:
		case end < k+4:
			for t := k; t < end; t++ {
				if w == 1 {
					axpy(-y[t], l[t*m+end:t*m+m], y[end:m])
				} else {
					takeColumn(l[t*m+end:t*m+m], y[end*4:], (*[4]float64)(y[t*4:]))
				}
			}
		case w == 1:
			takeFour(l[k*m+end:k*m+m], l[(k+1)*m+end:(k+1)*m+m], l[(k+2)*m+end:(k+2)*m+m], l[(k+3)*m+end:(k+3)*m+m], y[end:], (*[4]float64)(y[k:]))
		default:
			takeRows(l[k*m+end:k*m+m], l[(k+1)*m+end:(k+1)*m+m], l[(k+2)*m+end:(k+2)*m+m], l[(k+3)*m+end:(k+3)*m+m], y[end*4:], (*[16]float64)(y[k*4:]))
		}
	}
}

// backwardDense solves with the transpose of the s columns of a front of m rows: the rows below hold the answer already.
func backwardDense(l []float64, m, s int, y []float64, w int, indefinite bool) {
	for k := (s - 1) &^ 3; k >= 0 && s > 0; k -= 4 {
		end := min(k+4, s)
		var sum [16]float64 // by column, by right-hand side
		switch {
		case end == m:
		case end < k+4 && w == 1:
			for t := k; t < end; t++ {
				sum[t-k] = dotPairs(l[t*m+end:t*m+m], y[end:m])
			}
		case w == 1:
			dotFour(l[k*m+end:k*m+m], l[(k+1)*m+end:(k+1)*m+m], l[(k+2)*m+end:(k+2)*m+m], l[(k+3)*m+end:(k+3)*m+m], y[end:], &sum)
		default:
			for t := k; t < end; t++ {
				dotRows(l[t*m+end:t*m+m], y[end*4:], (*[4]float64)(sum[(t-k)*4:]))
			}
		}
		for j := end - 1; j >= k; j-- {
			v := y[j*w : j*w+w]
			d := 1 / l[j*m+j]
			if indefinite {
				scale(d, v)
			}
			for r := range v {
				v[r] -= sum[(j-k)*w+r]
			}
			for t := j + 1; t < end; t++ {
				takeRow(y, j, t, w, l[j*m+t])
			}
			if !indefinite {
				scale(d, v)
			}
		}
	}
}

// takeRow takes f times row t off row j.
func takeRow(y []float64, j, t, w int, f float64) {
	if w == 1 {
		y[j] -= f * y[t]
		return
	}
	a, b := (*[4]float64)(y[j*4:]), (*[4]float64)(y[t*4:])
	a[0] -= f * b[0]
	a[1] -= f * b[1]
	a[2] -= f * b[2]
	a[3] -= f * b[3]
}

// takeColumn takes a column, times its factors, off four right-hand sides.
func takeColumn(x, c []float64, f *[4]float64) {
	c = c[:4*len(x)]
	f0, f1, f2, f3 := f[0], f[1], f[2], f[3]
	for i, u := range x {
		to := (*[4]float64)(c[4*i:])
		to[0] -= u * f0
		to[1] -= u * f1
		to[2] -= u * f2
		to[3] -= u * f3
	}
}

// takeFour takes four columns, each times its factor, off one right-hand side.
func takeFour(x, y, z, w, c []float64, f *[4]float64) {
	n := len(x)
	y, z, w, c = y[:n], z[:n], w[:n], c[:n]
	f0, f1, f2, f3 := f[0], f[1], f[2], f[3]
	for i, u := range x {
		c[i] -= (u*f0 + y[i]*f1) + (z[i]*f2 + w[i]*f3)
	}
}

// takeRows is takeFour for four right-hand sides side by side.
func takeRows(x, y, z, w, c []float64, f *[16]float64) {
	n := len(x)
	y, z, w = y[:n], z[:n], w[:n]
	c = c[:4*n]
	for i, u := range x {
		v, s, t := y[i], z[i], w[i]
		to := (*[4]float64)(c[4*i:])
		to[0] -= (u*f[0] + v*f[4]) + (s*f[8] + t*f[12])
		to[1] -= (u*f[1] + v*f[5]) + (s*f[9] + t*f[13])
		to[2] -= (u*f[2] + v*f[6]) + (s*f[10] + t*f[14])
		to[3] -= (u*f[3] + v*f[7]) + (s*f[11] + t*f[15])
	}
}

// dotFour multiplies four columns by one right-hand side. Rows go in pairs, which halves the waiting for sums.
func dotFour(x, y, z, w, v []float64, sum *[16]float64) {
	n := len(x)
	y, z, w, v = y[:n], z[:n], w[:n], v[:n]
	var a, b, c, d float64
	i := 0
	for ; i+1 < len(x) && i+1 < len(y) && i+1 < len(z) && i+1 < len(w) && i+1 < len(v); i += 2 {
		p, q := v[i], v[i+1]
		a += x[i]*p + x[i+1]*q
		b += y[i]*p + y[i+1]*q
		c += z[i]*p + z[i+1]*q
		d += w[i]*p + w[i+1]*q
	}
	if i < n {
		p := v[i]
		a += x[i] * p
		b += y[i] * p
		c += z[i] * p
		d += w[i] * p
	}
	sum[0], sum[1], sum[2], sum[3] = a, b, c, d
}

// dotPairs is dotFour for one column.
func dotPairs(x, v []float64) (a float64) {
	v = v[:len(x)]
	i := 0
	for ; i+1 < len(x); i += 2 {
		a += x[i]*v[i] + x[i+1]*v[i+1]
	}
	if i < len(x) {
		a += x[i] * v[i]
	}
	return a
}

// dotRows multiplies a column by four right-hand sides side by side: two columns at once would want more registers than there are.
func dotRows(x, v []float64, sum *[4]float64) {
	v = v[:4*len(x)]
	var a, b, c, d float64
	i := 0
	for ; i+1 < len(x); i += 2 {
		p, q := x[i], x[i+1]
		r := (*[8]float64)(v[4*i:])
		a += p*r[0] + q*r[4]
		b += p*r[1] + q*r[5]
		c += p*r[2] + q*r[6]
		d += p*r[3] + q*r[7]
	}
	if i < len(x) {
		p := x[i]
		r := (*[4]float64)(v[4*i:])
		a += p * r[0]
		b += p * r[1]
		c += p * r[2]
		d += p * r[3]
	}
	sum[0], sum[1], sum[2], sum[3] = a, b, c, d
}
