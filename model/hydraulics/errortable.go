// # Error of the quick model
//
// Written by TestErrorTable with -update. [Bag.Step] in 10 min steps against
// [Column]: a tube 12 cm across and 80 cm long, wicks of 6 cm², typical media,
// six days from rest with 1, 0.6, 1.2, 0.3, 1 and 0.8 times the demand given,
// roots even, uptake falling from 200 to 8000 cm of suction. Stressed is the
// demand that the reference could not meet; uptake the worst day's error and
// wicked that of all days, as shares of the demand; θ the worst error of the
// mean water content at any time; driest the reference's.
//
//	medium     wick           lift wicks L/day stressed%   uptake%         θ  wicked%  driest
//	house mix  stone wool        5    2   0.6      0.0      0.00    0.0002    -0.03     0.50
//	house mix  stone wool        5    2   1.8      0.0      0.00    0.0005    -0.01     0.48
//	house mix  stone wool        5    4   1.8      0.0      0.00    0.0004    -0.02     0.49
//	house mix  stone wool       10    2   0.6      0.0      0.00    0.0003    -0.00     0.42
//	house mix  stone wool       10    2   1.8      0.0      0.00    0.0009     0.01     0.35
//	house mix  stone wool       10    4   1.8      0.0      0.00    0.0008    -0.01     0.40
//	house mix  stone wool       15    2   0.6      0.0      0.00    0.0004     0.08     0.35
//	house mix  stone wool       15    2   1.8     13.2      9.73    0.0292    -0.16     0.13
//	house mix  stone wool       15    4   1.8      0.0     -0.11    0.0011     0.03     0.24
//	house mix  polyester felt    5    2   0.6      0.0      0.00    0.0002    -0.03     0.50
//	house mix  polyester felt    5    2   1.8      0.0      0.00    0.0004    -0.01     0.48
//	house mix  polyester felt    5    4   1.8      0.0      0.00    0.0004    -0.02     0.49
//	house mix  polyester felt   10    2   0.6      0.0      0.00    0.0003    -0.00     0.42
//	house mix  polyester felt   10    2   1.8      0.0      0.00    0.0010     0.01     0.36
//	house mix  polyester felt   10    4   1.8      0.0      0.00    0.0007    -0.01     0.40
//	house mix  polyester felt   15    2   0.6      0.0      0.00    0.0004     0.06     0.35
//	house mix  polyester felt   15    2   1.8      0.2     -1.91    0.0070    -0.14     0.17
//	house mix  polyester felt   15    4   1.8      0.0     -0.23    0.0013    -0.00     0.25
//	coir       stone wool        5    2   0.6      0.0      0.00    0.0003    -0.05     0.59
//	coir       stone wool        5    2   1.8      0.0      0.00    0.0006    -0.01     0.57
//	coir       stone wool        5    4   1.8      0.0      0.00    0.0007    -0.03     0.58
//	coir       stone wool       10    2   0.6      0.0      0.00    0.0003    -0.00     0.49
//	coir       stone wool       10    2   1.8      0.0      0.00    0.0010     0.02     0.41
//	coir       stone wool       10    4   1.8      0.0      0.00    0.0010    -0.01     0.46
//	coir       stone wool       15    2   0.6      0.0      0.00    0.0003     0.07     0.40
//	coir       stone wool       15    2   1.8      8.0     12.70    0.0376    -0.11     0.13
//	coir       stone wool       15    4   1.8      0.0     -0.05    0.0010     0.07     0.29
//	coir       polyester felt    5    2   0.6      0.0      0.00    0.0003    -0.05     0.59
//	coir       polyester felt    5    2   1.8      0.0      0.00    0.0006    -0.02     0.57
//	coir       polyester felt    5    4   1.8      0.0      0.00    0.0007    -0.03     0.58
//	coir       polyester felt   10    2   0.6      0.0      0.00    0.0003    -0.01     0.49
//	coir       polyester felt   10    2   1.8      0.0      0.00    0.0010     0.02     0.42
//	coir       polyester felt   10    4   1.8      0.0      0.00    0.0009    -0.01     0.46
//	coir       polyester felt   15    2   0.6      0.0      0.00    0.0003     0.05     0.40
//	coir       polyester felt   15    2   1.8      0.0     -1.40    0.0062     0.08     0.21
//	coir       polyester felt   15    4   1.8      0.0     -0.00    0.0010     0.07     0.30
//	peat       stone wool        5    2   0.6      0.0      0.00    0.0001    -0.01     0.74
//	peat       stone wool        5    2   1.8      0.0      0.00    0.0004    -0.00     0.72
//	peat       stone wool        5    4   1.8      0.0      0.00    0.0003    -0.01     0.73
//	peat       stone wool       10    2   0.6      0.0      0.00    0.0003     0.01     0.66
//	peat       stone wool       10    2   1.8      0.0      0.00    0.0010     0.02     0.59
//	peat       stone wool       10    4   1.8      0.0      0.00    0.0008     0.00     0.64
//	peat       stone wool       15    2   0.6      0.0      0.00    0.0004     0.08     0.58
//	peat       stone wool       15    2   1.8      0.3     -0.90    0.0021    -0.18     0.24
//	peat       stone wool       15    4   1.8      0.0      0.00    0.0013     0.05     0.47
//	peat       polyester felt    5    2   0.6      0.0      0.00    0.0001    -0.01     0.74
//	peat       polyester felt    5    2   1.8      0.0      0.00    0.0003    -0.00     0.73
//	peat       polyester felt    5    4   1.8      0.0      0.00    0.0002    -0.01     0.74
//	peat       polyester felt   10    2   0.6      0.0      0.00    0.0003     0.01     0.66
//	peat       polyester felt   10    2   1.8      0.0      0.00    0.0011     0.02     0.60
//	peat       polyester felt   10    4   1.8      0.0      0.00    0.0007     0.00     0.64
//	peat       polyester felt   15    2   0.6      0.0      0.00    0.0004     0.06     0.58
//	peat       polyester felt   15    2   1.8      0.0      0.00    0.0025    -0.17     0.39
//	peat       polyester felt   15    4   1.8      0.0      0.00    0.0014     0.05     0.48
//
// While at most 0.5 % of the demand is unmet the worst errors are 1.91 % of a
// day's uptake and 0.0070 in water content. Where wicks fall far behind, the bag
// dries from the top over days, its profile is no longer a function of its
// storage alone, and the errors reach 12.7 % and 0.038.
package hydraulics
