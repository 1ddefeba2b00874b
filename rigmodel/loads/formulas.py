"""The formulas of the load checks as they are told, and where each comes from."""

from __future__ import annotations

LIFT = "m·(x − x_pivot) / (x_bar − x_pivot); m for a parallel lift"
"""Load of the lift as a mass at the bar: statics about the lift's pivot."""

AXLE = "R = W_front + m·x / wheelbase"
"""Front axle with the rig lifted: statics about the rear axle."""

SAG = "E·I·w'''' = q with point loads and couples, in Macaulay's brackets"
"""Deflection of the bar: elastic beam theory."""

BAR_STRESS = "σ = √((M_up/W + M_level/W + N/A)² + 3·(T/W_t + V/A_v)²)"
"""Equivalent stress in the bar: beam theory and von Mises's criterion."""

STRUT_STRESS = "σ = N/A + m·g·l/(8·W); l: its length as seen from above"
"""Stress in a strut with pinned ends: statics, and beam theory for its own weight."""

BUCKLING = "N = π²·E·I/L², or A·S·(1 − S·A/(4·π²·E·I/L²)) where it is stocky"
"""Push under which a strut with pinned ends buckles: Euler and Johnson (from memory)."""

ARM_STRESS = "σ = √((M_up/W + M_side/W' + N/A)² + 3·(T/W_t + V_up/A_v + V_side/A_v')²)"
"""Equivalent stress in an arm or cross tube: beam theory and von Mises's criterion."""

SHANK_STRESS = "σ = √((D·L/W + S·L/W')² + 3·(√(D² + S²)/A_v + (D·a + S·b)/W_t)²)"
"""Equivalent stress in a shank under draft D and side draft S: beam theory, von Mises."""

SIDE = "S = Σ side_n, turned round on mirror images"
"""Side draft of the rig: statics."""

YAW = "M = Σ D·y + Σ S·x"
"""Yaw moment of draft and side draft about the rear axle's middle: statics."""

YAW_OF_DRAFT = "M = Σ D·y"
"""Its part from draft alone."""

COURSE = "F_front = −M / wheelbase; F_rear = −S − F_front"
"""Pushes of the ground on the tyres that hold the tractor on course: statics."""

SPRING = "F = (M_weight + S·h) / r; S = preload + rate·h·angle, never less than 0"
"""Down-force of a tool on an arm: statics about the arm's pivot."""

SLIP = "√(M² + (S·b/2)²) ≤ 2·n·F·μ·b/2 for n legs on a bar of size b"
"""Moment M and force S along the bar that a clamp holds by friction on two faces of the bar."""

SLIDE = "F = (2·n·F_leg − N)·μ for n legs; N: the strut's force across the bar"
"""Force along the bar that a clamp holds by friction on two faces of it."""

TORQUE = "T = K·D·F"
"""Torque and clamp load of a bolt: the usual relation (from memory)."""

STRENGTH = "beam theory and von Mises's criterion (from memory)"
BENDING = "elastic beam theory (from memory)"
STATICS = "statics"
MASSES = "masses by closed-form volumes, densities from memory"
