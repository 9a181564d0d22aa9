"""Adjusts nets of distances with scipy and numpy, which know nothing of triangles: reads a list of nets as JSON, writes a list of results.

usage: survey.py < nets.json > results.json
"""
import json
import sys

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import chi2


def adjust(net):
    start = np.array(net["start"], dtype=float)
    frm = np.array([d["From"] for d in net["distances"]])
    to = np.array([d["To"] for d in net["distances"]])
    length = np.array([d["Length"] for d in net["distances"]])
    unc = np.array([d["StdUnc"] for d in net["distances"]])
    n = len(start)
    free = [k for k in range(2 * n) if k not in (0, 1, 3)]

    def corners(u):
        x = np.zeros(2 * n)
        x[free] = u
        return x.reshape(n, 2)

    def misfit(u):
        at = corners(u)
        return (np.hypot(*(at[to] - at[frm]).T) - length) / unc

    fit = least_squares(misfit, start.reshape(-1)[free], method="lm", x_scale=1000.0, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    # The derivatives by differences of numbers 1e-3 mm apart on either side: none of our formulas.
    jac = np.array([(misfit(fit.x + e) - misfit(fit.x - e)) / 2e-3 for e in 1e-3 * np.eye(len(free))]).T
    cov = np.linalg.inv(jac.T @ jac)
    whole = np.zeros((2 * n, 2 * n))
    whole[np.ix_(free, free)] = cov
    v = misfit(fit.x)
    freedom = len(length) - len(free)
    return {
        "at": corners(fit.x).tolist(),
        "residuals": (v * unc).tolist(),
        "covariance": whole.tolist(),
        "redundancies": (1 - np.diag(jac @ cov @ jac.T)).tolist(),
        "chi2": float(v @ v),
        "limit": float(chi2.ppf(0.95, freedom)),
        "freedom": freedom,
    }


json.dump([adjust(net) for net in json.load(sys.stdin)], sys.stdout)
