# Poisson figures by R's own ppois and poisson.test: a second opinion on the grain counts of test_bench.py.
# One line for each expected count n: n, chance of a count within n/2 to 3n/2, ends included, and the exact
# 95 % limits of the expectation that a count of n leaves open (Garwood 1936).
for (n in 1:60) {
  within <- ppois(floor(1.5 * n), n) - ppois(ceiling(0.5 * n) - 1, n)
  limits <- poisson.test(n)$conf.int
  cat(sprintf("%d %.15g %.15g %.15g\n", n, within, limits[1], limits[2]))
}
