# Writes the help pages: where a page says HEADER(name), the C header's own words on that function stand.
#     Rscript make_man.R man FOLDER HEADER...
arguments <- commandArgs(trailingOnly = TRUE)
header <- paste(unlist(lapply(arguments[-(1:2)], readLines, encoding = "UTF-8")), collapse = "\n")

# The comment before a function, without what is for C alone: examples, codes, sizes.
words_on <- function(name) {
  end <- regexpr(paste0("BW_API [a-z_ *]*\\b", name, "\\("), header)
  if (end < 0) stop("the header has no function ", name)
  before <- substr(header, 1, end - 1)
  start <- max(gregexpr("/\\*", before)[[1]])
  lines <- strsplit(sub("\\s*\\*/\\s*$", "", substr(before, start + 3, nchar(before))), "\n")[[1]]
  lines <- sub("^ \\* ?", "", lines)
  code <- grepl("^    ", lines) & grepl(";$|\\\\\"|bw_|while|\\($", lines)
  words <- paste(set_out(lines[!code]), collapse = "\n")
  words <- gsub("(Errors: [^.]*(\\.[a-z][^.]*)*\\.\\s)?Since [0-9.]+[0-9]\\.?", "", words)
  words <- gsub("\\s*Progress\\s[^.]*\\bbw_cancel\\b[^.]*\\.", "", words) # nobody is there to call it
  words <- gsub("\\s\\(bw_error_list\\)", "", words)
  gsub("NULL\\s\\(size\\s0\\)|NULL\\swith\\ssize\\s0", "NULL", words)
}

# For a help page: its own signs escaped, and lines that are set in set in there too.
set_out <- function(lines) {
  inset <- grepl("^    ", lines)
  lines <- gsub("([%{}\\\\])", "\\\\\\1", lines)
  first <- inset & !c(FALSE, head(inset, -1))
  last <- inset & !c(tail(inset, -1), FALSE)
  paste0(ifelse(first, "\\preformatted{", ""), lines, ifelse(last, "}", ""))
}

for (page in list.files(arguments[[1]], full.names = TRUE)) {
  lines <- readLines(page, encoding = "UTF-8")
  for (at in grep("HEADER\\(", lines)) {
    name <- sub(".*HEADER\\((.*)\\).*", "\\1", lines[[at]])
    lines[[at]] <- paste0(sub("HEADER.*", "", lines[[at]]), words_on(name))
  }
  writeLines(lines, file.path(arguments[[2]], basename(page)), useBytes = TRUE)
}
