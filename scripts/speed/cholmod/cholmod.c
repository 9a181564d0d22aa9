// Times CHOLMOD's supernodal factor of a matrix that scripts/speed/factor wrote: orders it by its own choice and by METIS, factors
// each five times, and prints medians as one JSON object. BLAS and its threads are the system's.
//   cholmod FILE
#include <cholmod.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static double now(void) {
	struct timespec t;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return t.tv_sec + 1e-9 * t.tv_nsec;
}

static int less(const void *a, const void *b) {
	double x = *(const double *)a, y = *(const double *)b;
	return (x > y) - (x < y);
}

static void get(void *to, size_t size, size_t n, FILE *f) {
	if (fread(to, size, n, f) != n) {
		fprintf(stderr, "cholmod: the file is too short\n");
		exit(1);
	}
}

// times prints how long the analysis and the numeric factor take by one ordering, and how well it solves for a known answer.
static void times(cholmod_sparse *a, cholmod_common *c, const char *name, const char *end) {
	double analyse[5], factor[5];
	cholmod_factor *l = NULL;
	for (int i = 0; i < 5; i++) {
		double t = now();
		cholmod_free_factor(&l, c);
		l = cholmod_analyze(a, c);
		analyse[i] = now() - t;
		t = now();
		cholmod_factorize(a, l, c);
		factor[i] = now() - t;
	}
	if (c->status != CHOLMOD_OK) {
		fprintf(stderr, "cholmod: status %d\n", c->status);
		exit(1);
	}
	double one[2] = {1, 0}, zero[2] = {0, 0}, off = 0;
	cholmod_dense *x = cholmod_ones(a->nrow, 1, CHOLMOD_REAL, c), *b = cholmod_zeros(a->nrow, 1, CHOLMOD_REAL, c);
	cholmod_sdmult(a, 0, one, zero, x, b, c);
	cholmod_dense *y = cholmod_solve(CHOLMOD_A, l, b, c);
	for (size_t i = 0; i < a->nrow; i++)
		off = fmax(off, fabs(((double *)y->x)[i] - 1));
	qsort(analyse, 5, sizeof(double), less);
	qsort(factor, 5, sizeof(double), less);
	printf("\"%s analyse s\":%g,\"%s factor s\":%g,\"%s entries\":%g,\"%s flops\":%g,\"%s off\":%g%s", name, analyse[2], name, factor[2], name, (double)l->xsize, name, c->fl, name, off, end);
}

int main(int argc, char **argv) {
	FILE *f = argc == 2 ? fopen(argv[1], "rb") : NULL;
	if (!f) {
		fprintf(stderr, "usage: cholmod FILE\n");
		return 2;
	}
	int32_t head[2];
	get(head, sizeof(int32_t), 2, f);
	cholmod_common c;
	cholmod_start(&c);
	c.supernodal = CHOLMOD_SUPERNODAL;
	c.print = 0;
	cholmod_sparse *a = cholmod_allocate_sparse(head[0], head[0], head[1], 1, 1, -1, CHOLMOD_REAL, &c);
	get(a->p, sizeof(int32_t), head[0] + 1, f);
	get(a->i, sizeof(int32_t), head[1], f);
	get(a->x, sizeof(double), head[1], f);
	fclose(f);
	printf("{\"unknowns\":%d,", head[0]);
	times(a, &c, "default", ",");
	c.nmethods = 1;
	c.method[0].ordering = CHOLMOD_METIS;
	c.postorder = 1;
	times(a, &c, "metis", "}\n");
	return 0;
}
