"""Rules of what is not known yet: the marks that `companion draft` leaves, until they are answered."""

from companion.procedure.fault import advice

OPEN = advice(
    "open-question",
    "Something is not known yet.",
    "It is asked on the bench, where it takes longer to find out.",
    "Answer it: `companion draft --answer FILE`. Or put the value into its field and take the mark out.",
)
DANGEROUS = advice(
    "dangerous-question",
    "Something is not known yet that could hurt someone if it were guessed.",
    "No job is begun with this procedure before it is answered.",
    "Find it in the maker's data and answer it: `companion draft --answer FILE`.",
)
