"""Student's t for two-sided 95 %, one line for each number of degrees of freedom given, to six decimals."""

import sys

from scipy.stats import t

for freedom in sys.argv[1:]:
    print(f"{t.ppf(0.975, int(freedom)):.6f}")
