# Times gstat on one case: points.csv (x, y, z) and cells as in the bench. Arguments: folder, cells a side, model, runs.
suppressMessages({ library(sp); library(gstat) })
a <- commandArgs(trailingOnly = TRUE)
size <- as.integer(a[2])
d <- read.csv(file.path(a[1], "points.csv")); coordinates(d) <- ~x+y
g <- expand.grid(x = (seq_len(size) - 1) + 0.5, y = (seq_len(size) - 1) + 0.5); coordinates(g) <- ~x+y
m <- vgm(1, a[3], 60, nugget = 0.1)
wall <- cpu <- Inf
for (i in seq_len(as.integer(a[4]))) {
  t <- system.time(p <- krige(z ~ 1, d, g, m, debug.level = 0))
  wall <- min(wall, t[["elapsed"]]); cpu <- min(cpu, t[["user.self"]] + t[["sys.self"]])
}
i <- seq(1, size * size, by = 97)
write.table(format(p@data[i, ], digits = 15), file.path(a[1], "gstat.csv"), sep = ",", quote = FALSE, row.names = FALSE)
cat(wall * 1000, cpu * 1000, "\n")
