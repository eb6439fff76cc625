# Runs every vector through the R package: Rscript run_vectors.R core.json [told.txt]
suppressWarnings(suppressMessages(library(buttonworth)))

nowhere <- new.env()

# What stands at a JSON pointer, or nowhere.
stands_at <- function(answer, pointer) {
  parts <- strsplit(pointer, "/", fixed = TRUE)[[1]][-1]
  if (endsWith(pointer, "/")) parts <- c(parts, "")
  for (part in gsub("~0", "~", gsub("~1", "/", parts, fixed = TRUE), fixed = TRUE)) {
    if (!is.list(answer)) return(nowhere)
    at <- if (is.null(names(answer)) && grepl("^[0-9]+$", part)) as.integer(part) + 1L else match(part, names(answer))
    if (is.na(at) || at > length(answer)) return(nowhere)
    answer <- answer[[at]]
  }
  answer
}

is_text <- function(value) is.character(value) && length(value) == 1

says <- function(text, words) all(vapply(words, function(word) grepl(tolower(word), tolower(text), fixed = TRUE), NA))

# The number and the unit of a text, or NULL.
number_of <- function(text) {
  parts <- regmatches(text, regexec("^(-?[0-9]+(?:\\.[0-9]+)?)( [^ ]+)?$", text, perl = TRUE))[[1]]
  if (length(parts) == 0) NULL else list(number = as.numeric(parts[[2]]), unit = parts[[3]])
}

holds <- function(found, expected, tolerance, relative) {
  if (is.list(expected) && !is.null(expected$exists)) return(!identical(found, nowhere) == expected$exists)
  if (is.list(expected) && !is.null(expected$says)) return(is_text(found) && says(found, expected$says))
  if (identical(found, expected)) return(TRUE)
  if (!is_text(found) || !is_text(expected)) return(FALSE)
  one <- number_of(found)
  other <- number_of(expected)
  if (is.null(one) || is.null(other)) return(FALSE)
  one$unit == other$unit && abs(one$number - other$number) <= max(tolerance, abs(other$number) * relative)
}

answer_of <- function(vector, options) {
  request <- if (is.null(vector$text)) vector$request else vector$text
  switch(vector$call,
    convert = bw_convert(request$quantity, request$to, request$factors),
    formula = sprintf("%.17g", do.call(bw_formula, c(request$name, request$arguments))),
    settle = , reconcile = , book = , dispute = , metal_call = , allocate = ,
    bench = get(paste0("bw_", vector$call))(request),
    get(paste0("bw_", vector$call))(request, options))
}

shown <- function(value) if (identical(value, nowhere)) "nothing" else paste(deparse(value), collapse = " ")

# What differs from what is expected. Text of many digits must be the same text: a double lacks them.
check_good <- function(vector, options, relative) {
  answer <- answer_of(vector, options)
  tolerance <- as.numeric(if (is.null(vector$tolerance)) "0" else vector$tolerance)
  faults <- character()
  for (index in seq_along(vector$expected)) {
    pointer <- names(vector$expected)[[index]]
    expected <- vector$expected[[index]]
    found <- stands_at(answer, pointer)
    right <- if (vector$id == "unit-many-digits") identical(found, expected) else
      holds(found, expected, tolerance, relative)
    if (!right) faults <- c(faults, paste0(pointer, ": ", shown(found), " stands there, expected is ", shown(expected)))
  }
  faults
}

is_error <- function(one, expected) {
  fields <- intersect(c("class", "code", "pointer"), names(expected))
  identical(one[fields], expected[fields]) && says(one$text, expected$says)
}

raised <- function(vector, options) tryCatch({ answer_of(vector, options); NULL }, buttonworth_error = identity)

check_bad <- function(vector, options) {
  error <- raised(vector, options)
  if (is.null(error)) return("no error came")
  fields <- c("class", "code", "status", "pointer")
  faults <- if (!identical(unclass(error)[fields], error$errors[[1]][fields]))
    "the condition's fields are not those of the first of the errors"
  for (expected in if (is.null(vector$errors)) list(vector$error) else vector$errors)
    if (!any(vapply(error$errors, is_error, NA, expected)))
      faults <- c(faults, paste("not among the errors:", shown(expected), "; they are", shown(error$errors)))
  faults
}

# The order of a list's names is the answer's.
check_order <- function(vector) {
  found <- names(answer_of(vector, NULL)$routes)
  if (identical(found, setdiff(names(vector$request$routes), "note"))) NULL else paste("the routes come as", shown(found))
}

count <- c(passed = 0, failed = 0)
told <- character()

# Whether a check finds no fault.
run <- function(name, check, ...) {
  faults <- tryCatch(check(...), error = function(error) paste(class(error)[[1]], conditionMessage(error)))
  well <- length(faults) == 0
  count[[if (well) "passed" else "failed"]] <<- count[[if (well) "passed" else "failed"]] + 1
  for (fault in faults) cat(name, ": ", fault, "\n", sep = "")
  well
}

# For the table of all languages: what kind of vector passed, and what an error said.
tell <- function(vector, kind, text = "") {
  told <<- c(told, paste(vector$call, kind, vector$id, gsub("[\r\n\t]", " ", text), sep = "\t"))
}

run_vector <- function(vector) {
  options <- vector$options
  if (is.null(vector$expected)) {
    if (run(vector$id, check_bad, vector, options)) tell(vector, "bad", raised(vector, options)$text)
    return()
  }
  if (run(vector$id, check_good, vector, options, 0)) tell(vector, "good")
  if (vector$call != "compare") return()
  if (is.null(options$routes)) run(paste(vector$id, "(order)"), check_order, vector)
  if (!is.null(options$arithmetic)) return()
  options$arithmetic <- "double"
  run(paste(vector$id, "(double)"), check_good, vector, options, if (startsWith(vector$id, "edge-")) 0 else 1e-9)
}

arguments <- commandArgs(trailingOnly = TRUE)
core <- readChar(arguments[[1]], file.size(arguments[[1]]), useBytes = TRUE)
Encoding(core) <- "UTF-8"
for (vector in jsonlite::parse_json(core)$vectors) run_vector(vector)
if (length(arguments) > 1) writeLines(told, arguments[[2]], useBytes = TRUE)
cat(count[["passed"]], "passed,", count[["failed"]], "failed\n")
quit(status = if (count[["failed"]] == 0 && count[["passed"]] > 0) 0 else 1)
