# Fits every set of a folder (set1.csv, set2.csv, ... and k.csv) with segmented, from its default seed and from further ones.
# Prints one line a fit: set, seed, CPU seconds, sum of squares, breakpoints. A fit that fails prints NA.
suppressPackageStartupMessages(library(segmented))
given <- commandArgs(trailingOnly = TRUE)
folder <- given[1]
seeds <- as.integer(given[2])
cat("version", R.version$major, R.version$minor, as.character(packageVersion("segmented")), "\n")
counts <- scan(file.path(folder, "k.csv"), quiet = TRUE)
for (i in seq_along(counts)) {
  data <- read.csv(file.path(folder, paste0("set", i, ".csv")))
  line <- lm(y ~ x, data = data)
  for (seed in seq_len(seeds)) {
    control <- if (seed == 1) seg.control() else seg.control(seed = 1000 + seed)
    start <- proc.time()
    fit <- tryCatch(suppressWarnings(segmented(line, seg.Z = ~x, npsi = counts[i], control = control)), error = function(e) NULL)
    spent <- proc.time() - start
    cpu <- spent[["user.self"]] + spent[["sys.self"]]
    found <- if (is.null(fit) || is.null(fit$psi)) NULL else fit$psi[, "Est."]
    if (length(found) != counts[i]) cat("fit", i, seed, cpu, "NA\n")
    else cat("fit", i, seed, cpu, format(sum(residuals(fit)^2), digits = 15), format(found, digits = 15), "\n")
  }
}
