"""Values that scipy_test.go checks against, computed with scipy alone.

Run: python3 reference_scipy.py
"""
import numpy as np
import scipy
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq
from scipy.special import iv


def theta(s, r, t, a, n):
    return t if s <= 0 else r + (t - r) * (1 + (a * s) ** n) ** -(1 - 1 / n)


def conductivity(s, a, n, ks, l=0.5):
    if s <= 0:
        return ks
    m = 1 - 1 / n
    se = (1 + (a * s) ** n) ** -m
    return ks * se**l * (1 - (1 - se ** (1 / m)) ** m) ** 2


def height(s, q, k):
    # In u = ln(1+s') so that the whole range is seen.
    f = lambda u: np.exp(u) / (1 + q / k(np.expm1(u)))
    knots = np.linspace(0, np.log1p(s), 9)
    return sum(quad(f, a, b, epsabs=0, epsrel=1e-11, limit=400)[0] for a, b in zip(knots, knots[1:]))


def flux(s, lift, k):
    if s <= 0:
        return k(0) * (s / lift - 1)
    if s >= lift:
        return brentq(lambda q: height(s, q, k) - lift, 0, k(0) * (s / lift - 1) + 1e-9, xtol=1e-13, rtol=1e-12)
    return brentq(lambda q: height(s, q, k) - lift, -k(s) * (1 - 1e-9), 0, xtol=1e-13, rtol=1e-12)


MEDIUM = dict(r=0.088, t=0.729, a=0.13, n=1.534)
K = lambda s: conductivity(s, 0.096, 3.6, 108)
print("scipy", scipy.__version__)
print("quadrature: flux at lift 7 cm, stone wool wedge (α .096, n 3.6, Ks 108)")
for s in (3, 6, 8, 12, 20, 60):
    print(f"  s {s}: {flux(s, 7, K):.8f}")

# Round bag, D 13 cm, length 70 cm.
R, LENGTH = 6.5, 70.0


def storage(s):
    f = lambda p: theta(s + R * (1 - np.cos(p)), **MEDIUM) * np.sin(p) ** 2
    kink = np.arccos(1 + max(s, -2 * R) / R) if s < 0 else 0.0
    return 2 * R * R * LENGTH * (quad(f, 0, kink)[0] + quad(f, kink, np.pi, epsrel=1e-11)[0])


def capacity(s, e=1e-4):
    return (storage(s + e) - storage(s - e)) / (2 * e)


print("storage: s 7, 30, -4:", *(f"{storage(s):.5f}" for s in (7, 30, -4)))
a = 0.1
print(f"exponential storage, α .1, s 10: {np.pi*R*R*LENGTH*(0.06+0.34*np.exp(-a*(10+R))*2*iv(1,a*R)/(a*R)):.6f}")

# Base suction of the hydrostatic bag under a half-sine demand, from s = 30 cm.
AREA = 24.0
demand = lambda t: 90 * np.sin(np.pi * t / 12) if t < 12 else 0.0
rhs = lambda t, y: [(AREA * flux(y[0], 7, K) - demand(t)) / capacity(y[0])]
first = solve_ivp(rhs, (0, 12), [30.0], method="LSODA", rtol=1e-8, atol=1e-8, t_eval=[1, 3, 6, 9, 12])
print("ODE: t, s, S")
for t, s in zip(first.t, first.y[0]):
    print(f"  {t:g} h: s {s:.5f} S {storage(s):.3f}")
