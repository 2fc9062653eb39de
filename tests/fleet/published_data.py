"""Published data sets, each with its source and how sure the copy is."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt


def _table(text: str) -> npt.NDArray[np.float64]:
    return np.array([[float(value) for value in line.split()] for line in text.strip().split("\n")])


# Reaction time (ms) of 18 subjects after 0 to 9 days of short sleep: G. Belenky et al.,
# Journal of Sleep Research 12 (2003), as distributed with lme4; seen there.
SLEEP_MS = _table("""
249.56 258.7047 250.8006 321.4398 356.8519 414.6901 382.2038 290.1486 430.5853 466.3535
222.7339 205.2658 202.9778 204.707 207.7161 215.9618 213.6303 217.7272 224.2957 237.3142
199.0539 194.3322 234.32 232.8416 229.3074 220.4579 235.4208 255.7511 261.0125 247.5153
321.5426 300.4002 283.8565 285.133 285.7973 297.5855 280.2396 318.2613 305.3495 354.0487
287.6079 285.0 301.8206 320.1153 316.2773 293.3187 290.075 334.8177 293.7469 371.5811
234.8606 242.8118 272.9613 309.7688 317.4629 309.9976 454.1619 346.8311 330.3003 253.8644
283.8424 289.555 276.7693 299.8097 297.171 338.1665 332.0265 348.8399 333.36 362.0428
265.4731 276.2012 243.3647 254.6723 279.0244 284.1912 305.5248 331.5229 335.7469 377.299
241.6083 273.9472 254.4907 270.8021 251.4519 254.6362 245.4523 235.311 235.7541 237.2466
312.3666 313.8058 291.6112 346.1222 365.7324 391.8385 404.2601 416.6923 455.8643 458.9167
236.1032 230.3167 238.9256 254.922 250.7103 269.7744 281.5648 308.102 336.2806 351.6451
256.2968 243.4543 256.2046 255.5271 268.9165 329.7247 379.4445 362.9184 394.4872 389.0527
250.5265 300.0576 269.8939 280.5891 271.8274 304.6336 287.7466 266.5955 321.5418 347.5655
221.6771 298.1939 326.8785 346.8555 348.7402 352.8287 354.4266 360.4326 375.6406 388.5417
271.9235 268.4369 257.2424 277.6566 314.8222 317.2135 298.1353 348.1229 340.28 366.5131
225.264 234.5235 238.9008 240.473 267.5373 344.1937 281.1481 347.5855 365.163 372.2288
269.8804 272.4428 277.8989 281.7895 279.1705 284.512 259.2658 304.6306 350.7807 369.4692
269.4117 273.474 297.5968 310.6316 287.1726 329.6076 334.4818 343.2199 369.1417 364.1236
""")

# Yield of five preparations from each of six batches: O. L. Davies, P. L. Goldsmith (eds),
# Statistical Methods in Research and Production, 4th ed. (1972), as distributed with lme4; seen.
DYESTUFF = np.array(
    [
        [1545, 1440, 1440, 1520, 1580],
        [1540, 1555, 1490, 1560, 1495],
        [1595, 1550, 1605, 1510, 1560],
        [1445, 1440, 1595, 1465, 1545],
        [1595, 1630, 1515, 1635, 1625],
        [1520, 1455, 1450, 1480, 1445],
    ],
    dtype=np.float64,
)

# Artificial data without any batch effect: G. E. P. Box, G. C. Tiao, Bayesian Inference in
# Statistical Analysis (1973), table 5.1.4; data from memory, results as printed with lme4 seen.
DYESTUFF2 = np.array(
    [
        [7.298, 3.846, 2.434, 9.566, 7.990],
        [5.220, 6.556, 0.608, 11.788, -0.892],
        [0.110, 10.386, 13.434, 5.510, 8.166],
        [2.212, 4.852, 7.092, 9.288, 4.980],
        [0.282, 9.014, 4.458, 9.446, 7.198],
        [1.722, 4.782, 8.106, 0.758, 3.758],
    ]
)

# Log risk ratios, variances and absolute latitudes of thirteen trials of BCG vaccine: G. A.
# Colditz et al., JAMA 271 (1994), as distributed with metadat; seen there.
BCG_Y, BCG_V, BCG_LATITUDE = _table("""
-0.889311 0.3255848 44
-1.585389 0.1945811 55
-1.348073 0.415368 42
-1.441551 0.02001 52
-0.217547 0.0512102 13
-0.786116 0.0069056 44
-1.620898 0.2230172 19
0.011952 0.0039616 13
-0.469418 0.0564342 27
-1.371345 0.0730248 42
-0.339359 0.0124122 18
0.445913 0.5325058 33
-0.017314 0.0714047 33
""").T

# R. N. Kacker, Metrologia 41 (2004), table 1, as in the tests of statsmodels; seen there.
KACKER_Y = np.array([61.0, 61.4, 62.21, 62.3, 62.34, 62.6, 62.7, 62.84, 65.9])
KACKER_V = np.array([0.2025, 1.21, 0.09, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225])

# Events and patients, treated and control, of six trials of CLASP: R. DerSimonian, R. Kacker,
# Contemporary Clinical Trials 28 (2007), table 3, as in the tests of metafor; seen there.
CLASP_TREATED = np.array([156, 303, 565, 1570, 103, 4659], dtype=np.float64)
CLASP_CONTROL = np.array([74, 303, 477, 1565, 105, 4650], dtype=np.float64)
CLASP_TREATED_EVENTS = np.array([5, 5, 12, 69, 9, 313], dtype=np.float64)
CLASP_CONTROL_EVENTS = np.array([8, 17, 9, 94, 11, 352], dtype=np.float64)

# Calibration of a thermometer: JCGM 100:2008 (GUM), example H.3; seen in two public libraries.
THERMOMETER_DEGC = np.array(
    [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
)
THERMOMETER_CORRECTION = -0.001 * np.array(
    [171, 169, 166, 159, 164, 165, 156, 157, 159, 161, 160], dtype=np.float64
)

# Calibration of ozone monitors, y against x: J. Norris, NIST Statistical Reference Datasets,
# file Norris.dat as it comes inside the scipy wheel; seen there.
NORRIS_Y = _table("""
0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3
0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3
0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2
""").ravel()
NORRIS_X = _table("""
0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4
0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3
0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5
""").ravel()

# Calibration of load cells, deflection at 150,000 to 3,000,000 in twenty steps, done twice: P.
# Pontius, NIST Statistical Reference Datasets, Pontius.dat; a copy seen on a public page.
PONTIUS_DEFLECTION = _table("""
.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146
1.20001 1.30822 1.41599 1.52399 1.63194 1.73947 1.84646 1.95392 2.06128 2.16844
.11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474 .98300 1.09150
1.20004 1.30818 1.41613 1.52408 1.63159 1.73965 1.84696 1.95445 2.06177 2.16829
""").ravel()

# Resistance of silicon by five instruments, five readings each: J. Ehrstein, M. C. Croarkin, NIST
# Statistical Reference Datasets, file SiRstv.dat as it comes inside the scipy wheel; seen there.
RESISTANCE = _table("""
196.3052 196.1240 196.1890 196.2569 196.3403
196.3042 196.3825 196.1669 196.3257 196.0422
196.1303 196.2005 196.2889 196.0343 196.1811
196.2795 196.1748 196.1494 196.1485 195.9885
196.2119 196.1051 196.1850 196.0052 196.2090
""")

# Glucose in serum, eight laboratories with three readings each, materials D and E, then A: ASTM
# E691, as distributed with a public package for interlaboratory studies; seen there.
GLUCOSE_D = _table("""
193.71 193.59 193.65
190.88 200.14 194.3
192.71 193.28 190.28
195.85 196.36 199.43
192.59 191.44 195.12
195.34 198.26 198.13
194.66 191.99 187.13
197.56 195.99 200.82
""")
GLUCOSE_E = _table("""
292.78 294.09 292.89
292.27 309.4 295.08
295.53 290.14 292.34
295.19 295.44 296.83
293.93 292.48 294.28
297.74 296.8 290.33
287.29 293.76 289.36
298.46 295.28 296.12
""")
GLUCOSE_A = _table("""
41.03 41.45 41.37
41.17 42.0 41.15
41.01 40.68 42.66
39.37 42.37 42.63
41.88 41.19 41.32
43.28 40.5 42.28
41.08 41.27 39.02
43.36 42.65 41.72
""")
