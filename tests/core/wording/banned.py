"""Words that no published sentence may hold.

After the ASA statement on p-values (2016) and Altman & Bland 1995 (absence of evidence is not
evidence of absence); statisticians' words are kept to their own block.
"""

import re

BANNED = re.compile(
    r"no difference|not different|\bproof|\bprov|\bsignifican|identical|no effect|\bconfirm"
    r"|\bcertain|same beer|p = |\b0\.000\b|\bnan\b|(?-i:None)|%\(|\bp-value is\b|hypothes",
    re.IGNORECASE,
)
STATISTICIANS = re.compile(
    r"strat|discriminator|d-prime|d′|e-value|binomial|p-value", re.IGNORECASE
)
