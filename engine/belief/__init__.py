"""Which finish is on the surface, and how sure that is.

The model, summed out exactly (no sampling, no independence that is known to be wrong):

    P(f | e)  ~  sum_r P(f, r | context) prod_{t in T0} P(o_t | f, r)
                 x sum_c P(c | context) prod_{t in T1} P(o_t | f, c)
                 x prod_g sum_s P(s | f, g) prod_{t in Tg} P(o_t | f, c, s)

f   finish on top, and one more, "none of these", that gives every outcome alike
r   origin of the film: the maker's, stripped and redone, or coated over by an owner
c   contamination: clean, waxed, greasy; or astray: the spot does not speak for the film,
    every test shows any outcome alike, and the finish is what age and place say
g,s hidden group (solubility, hardness, appearance) and the state it is in

Assumptions. Given f, r, c and the states, answers are independent. Tests of one group
share one state, which is what makes alcohol, thinner and acetone agree with each other
more often than three independent looks would. The sum over c stands outside the groups,
since one layer of wax spoils every test at once. Bands are judgements, not
measurements: the range that goes with each probability says what one step of
judgement would change.
"""
