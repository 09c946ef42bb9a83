"""The papers, and how much of each was seen."""

from frames.trends.trend import ABSTRACT, PART, TABLE, Source

GASSER = Source("Gasser, Boman, Wyder and Schneider, J Biomech Eng 1990;112:15-21", ABSTRACT)
CROSS = Source("Cross and others, Am J Vet Res 2001;62:1025-1030", ABSTRACT)
LEWIS = Source("Lewis and others, axial characteristics of single rings", PART)
WATSON = Source(
    "Watson, Mathias, Maffulli and Hukins 2003, yielding of the clamped wire (authors in part from "
    "memory)",
    ABSTRACT,
)
HUDSON = Source("Hudson and others, Am J Vet Res 2012;73:2021", ABSTRACT)
CARBON = Source("Vet Comp Orthop Traumatol 2012, doi 10.3415/VCOT-12-03-0047", ABSTRACT)
ASYMMETRIC = Source(
    "Vet Comp Orthop Traumatol, wire tension in asymmetric four-ring frames", ABSTRACT
)
TENSION = Source(
    'Am J Orthop 2007, "Effect of wire tension on stiffness of tensioned fine wires" (the year '
    "from memory)",
    ABSTRACT,
)
DUDA = Source("Duda and others 2000, mechanical behaviour of ring fixators", ABSTRACT)
KHURANA = Source(
    "Khurana, Byrne, Evans, Tanaka and Haraharan, J Orthop Surg Res 2010;5:23, table 3", TABLE
)
ATHENS = Source("Engineering Transactions 2016;64:621-627", ABSTRACT)
LINEHAM = Source(
    "Lineham, Stewart and Harwood, Strategies Trauma Limb Reconstr 2018;13(2)", ABSTRACT
)
DELPRETE = Source("Delprete and Gola, J Biomech Eng 1993;115:37-42", ABSTRACT)
TORQUE = Source("Mullins, Davidson, Goodier and Barry, Injury 2003, bolts", ABSTRACT)
BOLTS = Source("Veterinary Surgery 2002;31:571-576, torque of bolts", ABSTRACT)
