"""The caution that goes on every output."""

CAUTION = (
    "A calculation aid for trained people. It knows nothing of the patient that was not typed in. "
    "It replaces neither the surgeon's judgement nor an atlas of safe corridors, nor the limits of "
    "the makers of the parts, nor local rules. Parts, tensions and weight bearing are decided by "
    "the licensed clinician in charge. Not a certified medical device."
)
