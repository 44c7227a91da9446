# Rscript crosscheck.R data.csv : fits of glm and MASS::glm.nb to what the test drew, as JSON with the versions used.
suppressMessages(library(MASS))
d <- read.csv(commandArgs(TRUE)[1])
ct <- glm.control(epsilon = 1e-14, maxit = 200)
p <- glm(y ~ x1 + x2 + g, poisson, d, offset = off, control = ct)
n <- glm.nb(y ~ x1 + x2 + g + offset(off), data = d, control = glm.control(epsilon = 1e-14, maxit = 500))
b <- glm(cbind(k, m - k) ~ x1 + x2, binomial, d, control = ct)
nums <- function(x) paste0("[", paste(sprintf("%.12g", x), collapse = ", "), "]")
fit <- function(f) sprintf('{"coef": %s, "se": %s, "deviance": %.12g, "loglik": %.12g}',
  nums(coef(f)), nums(sqrt(diag(vcov(f)))), deviance(f), as.numeric(logLik(f)))
cat(sprintf('{"r": "%s", "mass": "%s",\n "poisson": %s,\n "negbin": %s,\n "theta": %.12g,\n "binomial": %s}\n',
  R.version.string, as.character(packageVersion("MASS")), fit(p), fit(n), n$theta, fit(b)))
