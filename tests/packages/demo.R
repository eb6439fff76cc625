library(buttonworth)
answer <- bw_compare(readLines("plan.json", encoding = "UTF-8"))
cat(answer$best, answer$routes[[answer$best]]$net, fill = TRUE)
writeLines(readLines("/proc/self/maps"))
