# The R package beyond the vectors: handles, kinds of values, errors, memory, the README.
#     Rscript test_r.R bindings/r/README.md
suppressWarnings(suppressMessages(library(buttonworth)))
options(warn = 2) # never a warning

plan_list <- list(
  format = "buttonworth-plan/1", currency = "USD", prices = c(Au = "100 USD/g"), discount = "0 %/a",
  lot = list(wet_mass = "1000 kg", assays = c(Au = "50 g/t")), steps = bw_object(),
  terms = list(smelter = list(buys = "concentrate", pay = list(Au = c(share = "90 %")))),
  routes = list(zinc = c(sell = "smelter"), "as it is" = c(sell = "smelter"), "Meg/1" = c(keep = TRUE)))
# 1 t x 50 g/t x 90 % x 100 USD/g = 4500 USD

plan_rows <- list(
  c("/format", "buttonworth-plan/1"), c("/currency", "USD"), c("/prices/Au", "100 USD/g"), c("/discount", "0 %/a"),
  c("/lot/wet_mass", "1000 kg"), c("/lot/assays/Au", "50 g/t"), c("/steps", "{}"),
  c("/terms/smelter/buys", "concentrate"), c("/terms/smelter/pay/Au/share", "90 %"),
  c("/routes/zinc/sell", "smelter"), c("", ""), list(NA, NA), list("/routes/as it is/sell", "smelter"),
  list("/routes/Meg~11/keep", TRUE))

plan_text <- '{"format":"buttonworth-plan/1","currency":"USD","prices":{"Au":"100 USD/g"},"discount":"0 %/a",
  "lot":{"wet_mass":"1000 kg","assays":{"Au":"50 g/t"}},"steps":{},
  "terms":{"smelter":{"buys":"concentrate","pay":{"Au":{"share":"90 %"}}}},
  "routes":{"zinc":{"sell":"smelter"},"as it is":{"sell":"smelter"},"Meg/1":{"keep":true}}}'

encoded <- buttonworth:::encoded
changed <- function(...) utils::modifyList(plan_list, list(...), keep.null = TRUE)
put <- function(field, value) { copy <- plan_list; copy[field] <- list(value); copy }
net <- function(answer, route = "zinc") as.numeric(answer$routes[[route]]$net)

same <- function(found, expected) {
  if (!identical(found, expected)) stop("found ", deparse(found), ", expected ", deparse(expected))
}

# The error that a call raises, with these fields; its text says these words.
fails <- function(call, ..., says = NULL) {
  error <- tryCatch({ force(call); NULL }, error = identity)
  if (is.null(error)) stop("no error came")
  if (!inherits(error, "buttonworth_error")) stop("another kind of error: ", conditionMessage(error))
  fields <- list(...)
  if (length(fields) > 0) same(unclass(error)[names(fields)], fields)
  if (!is.null(says) && !grepl(says, error$text, fixed = TRUE)) stop("the error says: ", error$text)
  invisible(error)
}
wrong_kind <- function(call, ...) fails(call, class = "usage", code = "kind", status = 105L, ...)
closed <- function(call) fails(call, class = "usage", code = "null", status = 101L, says = "closed")

tests <- list()

# ---- Documents -----------------------------------------------------------------------------------

tests$every_kind_of_document_is_the_same_plan <- function() {
  table <- data.frame(pointer = vapply(plan_rows, function(row) as.character(row[[1]]), ""), value = I(lapply(plan_rows, `[[`, 2)))
  plain <- table
  plain$value <- vapply(plan_rows, function(row) if (isTRUE(row[[2]])) "true" else as.character(row[[2]]), "")
  factors <- data.frame(lapply(plain, factor))
  for (document in list(plan_text, strsplit(plan_text, "\n")[[1]], charToRaw(plan_text), plan_list, plan_rows, table, plain,
                        factors, jsonlite::parse_json(plan_text))) {
    answer <- bw_compare(document)
    same(names(answer$routes), c("zinc", "as it is", "Meg/1"))
    same(vapply(answer$routes, function(route) as.numeric(route$net), 0), c(zinc = 4500, "as it is" = 4500, "Meg/1" = 0))
  }
}

tests$values_become_json <- function() {
  for (pair in list(
    list(NULL, "null"), list(TRUE, "true"), list(0L, "0"), list(-5, "-5"), list(2.5, "2.5"), list(0.1, "0.1"),
    list(1 / 3, "0.33333333333333331"), list(1e300, "1e+300"), list("", "\"\""), list(list(), "[]"), list(bw_object(), "{}"),
    list(c("a", "b"), "[\"a\",\"b\"]"), list(I("a"), "[\"a\"]"), list(c(a = 1), "{\"a\":1}"), list(list(1, list(NULL)), "[1,[null]]"),
    list("\"\\/\n\t\u0001\u20ac", "\"\\\"\\\\/\\u000a\\u0009\\u0001\u20ac\""), list(character(), "[]"),
    list(as.Date("2026-03-02"), "\"2026-03-02\""), list(factor("b"), "\"b\""),
    list(data.frame(id = c("K-1", "K-2"), n = 1:2), "[{\"id\":\"K-1\",\"n\":1},{\"id\":\"K-2\",\"n\":2}]"))) {
    same(encoded(pair[[1]]), pair[[2]])
  }
  latin <- "\xe9"
  Encoding(latin) <- "latin1"
  same(encoded(latin), "\"\u00e9\"")
  text <- "{\"z\":1,\"a\":[],\"b\":{},\"c d\":[null,{\"\":[true]}]}"
  same(encoded(jsonlite::parse_json(text)), text)
}

tests$what_no_document_can_hold <- function() {
  for (value in list(NaN, Inf, -Inf, NA, NA_character_, NA_real_, mean, globalenv(), quote(a + b), 1i, as.raw(1), Sys.time(), bw_context())) {
    document <- put("lot", list("A/u~" = list(1, value)))
    wrong_kind(bw_compare(document), pointer = "/lot/A~1u~0/1")
  }
  wrong_kind(bw_compare(put("lot", NaN)), says = "NaN stands here")
  wrong_kind(bw_compare(put("lot", list(1, x = 2))), pointer = "/lot", says = "names")
  deep <- list()
  for (level in 1:2000) deep <- list(deep)
  wrong_kind(bw_compare(put("lot", deep)), says = "deep")
  fails(bw_compare(c(plan_list, lot = "again")), class = "document", code = "repeated")
}

tests$rows <- function() {
  wrong_kind(bw_compare(list(c("/a", "b", "c"))), says = "row 1")
  for (row in list("ab", 5, list(5, "b"), list(NULL, "b"), list(), list("/a", NaN), list("/a", NA), list("/a", mean)))
    wrong_kind(bw_compare(list(row)))
  fails(bw_compare(list()), class = "document")
}

tests$text_that_is_not_utf_8 <- function() {
  bytes <- as.raw(c(0x7b, 0x22, 0xff, 0x22, 0x3a, 0x31, 0x7d))
  fails(bw_compare(bytes), class = "document", code = "utf8")
  broken <- rawToChar(bytes)
  Encoding(broken) <- "UTF-8"
  fails(bw_compare(broken), class = "document", code = "utf8")
  wrong_kind(bw_compare(put("lot", broken)), pointer = "/lot")
}

tests$the_answer_is_json_text_too <- function() {
  same(jsonlite::parse_json(bw_compare_text(plan_text)), bw_compare(plan_text))
  same(bw_compare(plan_text, '{"how": false}'), bw_compare(plan_text, list(how = FALSE)))
  same(jsonlite::parse_json(bw_text(bw_plan(plan_list))), jsonlite::parse_json(plan_text))
}

# ---- Wrong kinds ---------------------------------------------------------------------------------

tests$where_a_plan_is_wanted <- function() {
  for (document in list(NULL, 5, TRUE, NaN, mean, bw_context(), globalenv(), Sys.Date()))
    wrong_kind(bw_compare(document), says = "a plan is text")
  wrong_kind(bw_compare(NA_character_))
  wrong_kind(bw_compare(character()))
  fails(bw_compare(put("lot", NULL)), class = "document", code = "type", pointer = "/lot")
}

tests$other_parameters <- function() {
  context <- bw_context()
  plan <- bw_plan(plan_list, context)
  for (options in list(5, TRUE, NA, mean, plan)) wrong_kind(bw_compare(plan, options))
  wrong_kind(bw_compare(plan, list(how = NaN)), pointer = "/how")
  fails(bw_compare(plan, list(hwo = TRUE)))
  calls <- expression(
    bw_convert(5, "g"), bw_convert("1 kg", NULL), bw_convert("1 kg", "g", 5), bw_convert("1 kg", "g", list("g per ozt" = NaN)),
    bw_schema(NULL), bw_schema("plans"), bw_schema(NA_character_), bw_schema(c("plan", "plan")),
    bw_convert_array("1", "g", "kg"), bw_convert_array(NULL, "g", "kg"), bw_convert_array(TRUE, "g", "kg"),
    bw_convert_array(1, NULL, "kg"), bw_convert_array(1, "g", 5), bw_convert_array(list(1), "g", "kg"),
    bw_limit(context, 5), bw_limit(plan, "depth"), bw_limit(NULL, "depth"), bw_set_limit(context, "depth", 2.5),
    bw_set_limit(context, "depth", NaN), bw_set_limit(context, "depth", "5"), bw_set_limit(context, "depth", 0),
    bw_set_limit(context, "depth", 2^70), bw_set_limit(context, "deepness", 5), bw_set_limit(context, NULL, 5),
    bw_with_value(plan, NULL, "x"), bw_with_value(plan, "/discount", mean), bw_with_value(plan, "/discount", NaN),
    bw_with_value(context, "/discount", "x"), bw_text(context), bw_draws(list(), "zinc"), bw_month_take(plan, "deliveries", ""),
    bw_plan(plan_list, plan), bw_settle(5), bw_book(NULL), bw_allocate(NULL), bw_formula("moisture", "110", 98), bw_formula(NULL, 98))
  for (call in calls) {
    error <- tryCatch({ eval(call); NULL }, error = identity)
    if (!inherits(error, "buttonworth_usage_error") && !(inherits(error, "buttonworth_document_error") && identical(call[[1]], quote(bw_convert))))
      stop(deparse(call), ": ", if (is.null(error)) "no error came" else conditionMessage(error))
  }
}

tests$zero_bytes_do_not_cut_a_text_short <- function() {
  plan <- bw_plan(plan_list)
  zero <- function(text) c(charToRaw(text), as.raw(0), charToRaw("x"))
  wrong_kind(bw_with_value(plan, zero("/discount"), "0 %/a"))
  wrong_kind(bw_limit(bw_context(), zero("depth")))
  wrong_kind(bw_schema(zero("plan")))
  wrong_kind(bw_convert_array(1, zero("g"), "kg"))
  fails(bw_compare(zero(plan_text)), class = "document")
}

# ---- Handles -------------------------------------------------------------------------------------

tests$closed_twice_and_used_again <- function() {
  context <- bw_context()
  plan <- bw_plan(plan_list, context)
  other <- bw_plan(plan_list, context)
  close(plan)
  close(plan)
  closed(bw_compare(plan))
  closed(bw_text(plan))
  closed(bw_with_value(plan, "/discount", "1 %/a"))
  close(context)
  close(context)
  closed(bw_plan(plan_list, context))
  closed(bw_plan(plan_rows, context))
  closed(bw_limit(context, "depth"))
  closed(bw_set_limit(context, "depth", 5))
  closed(bw_compare(other))
  same(jsonlite::parse_json(bw_text(other))$currency, "USD") # a plan outlives its context
}

tests$handles_that_are_none <- function() {
  plan <- bw_plan(plan_list)
  again <- unserialize(serialize(plan, NULL))
  wrong_kind(bw_compare(again), says = "saved and loaded")
  wrong_kind(bw_text(structure(list(), class = "buttonworth_plan")))
  wrong_kind(bw_text(structure(list(handle = 5), class = "buttonworth_plan")))
  forged <- structure(unclass(bw_context()), class = c("buttonworth_plan", "buttonworth_handle"))
  wrong_kind(bw_text(forged))
  wrong_kind(close(forged))
  same(utils::capture.output(print(plan)), "<buttonworth_plan>")
}

tests$a_plan_keeps_its_context <- function() {
  plan <- bw_plan(plan_list)
  gc()
  same(net(bw_compare(plan)), 4500)
}

# ---- Plans with one value replaced ---------------------------------------------------------------

tests$with_value <- function() {
  plan <- bw_plan(plan_text)
  same(net(bw_compare(bw_with_value(plan, "/prices/Au", "110 USD/g"))), 4950)
  same(net(bw_compare(plan)), 4500)
  other <- bw_with_value(plan, "/terms/smelter/pay", list(Au = list(share = "50 %")))
  same(net(bw_compare(other)), 2500)
  same(names(bw_compare(bw_with_value(other, "/routes/zinc", list(keep = TRUE)))$routes), c("zinc", "as it is", "Meg/1"))
  fails(bw_with_value(plan, "/prices/Ag", "1 USD/g"), class = "usage", code = "pointer", pointer = "/prices/Ag")
  fails(bw_with_value(plan, "/lot/wet_mass", "5 oz"), class = "document", code = "unit", pointer = "/lot/wet_mass")
  fails(bw_with_value(plan, "/lot/wet_mass", NULL), class = "document", pointer = "/lot/wet_mass")
}

# ---- Errors --------------------------------------------------------------------------------------

tests$fields_and_the_whole_list <- function() {
  wrong <- changed(discount = "5 kg", lot = list(wet_mass = "5 oz", assays = c(Au = "50 g/t")))
  error <- fails(bw_compare(wrong), class = "document", code = "unit", status = 209L)
  same(class(error), c("buttonworth_document_error", "buttonworth_error", "error", "condition"))
  same(sort(vapply(error$errors, `[[`, "", "pointer")), c("/discount", "/lot/wet_mass"))
  same(error$pointer, error$errors[[1]]$pointer)
  same(conditionMessage(error), error$text)
  same(startsWith(error$text, paste0(error$pointer, ": ")), TRUE)
  over <- put("lot", list(wet_mass = "1 kg", assays = c(Au = "60 %", Ag = "60 %")))
  same(class(fails(bw_compare(over)))[[1]], "buttonworth_domain_error")
  same(tryCatch(bw_compare("{"), buttonworth_document_error = function(error) "caught"), "caught")
}

tests$limits <- function() {
  context <- bw_context()
  same(bw_limit(context, "depth"), 64)
  bw_set_limit(context, "depth", 3L)
  same(bw_limit(context, "depth"), 3)
  fails(bw_plan(plan_list, context), class = "document", code = "limit")
}

# ---- Units and others ----------------------------------------------------------------------------

tests$convert <- function() {
  same(bw_convert("1 lb", "g"), "453.59237 g")
  same(bw_convert("1 ozt", "g", c("g per ozt" = "31.1035")), "31.1035 g")
  fails(bw_convert("1 lb", "h"), class = "document", code = "unit")
  same(bw_convert_array(c(a = 1, b = 2), "ozt", "g"), c(a = 31.1034768, b = 62.2069536))
  same(bw_convert_array(1:2, "ozt", "g"), c(31.1034768, 62.2069536))
  same(dim(bw_convert_array(matrix(1:6, 2), "ozt", "g")), c(2L, 3L))
  same(bw_convert_array(c(NaN, -Inf, NA), "ozt", "g")[2], -Inf)
  same(is.nan(bw_convert_array(c(NaN, -Inf), "ozt", "g")), c(TRUE, FALSE))
  same(bw_convert_array(numeric(), "ozt", "g"), numeric())
  fails(bw_convert_array(1, "oz", "g"), class = "document", code = "unit")
}

tests$formulas <- function() {
  same(all.equal(bw_formula("moisture", 110, 98, 10), 0.12, tolerance = 1e-15), TRUE)
  fails(bw_formula("moistness", 1), class = "usage", code = "no such name")
  fails(bw_formula("moisture", 1L), class = "usage", code = "size")
  fails(bw_formula("moisture", 88, 100), class = "document", code = "range")
  wrong_kind(bw_formula("moisture", c(88, 89), 100), says = "bw_formula_array")
  same("moisture" %in% vapply(bw_formulas(), `[[`, "", "name"), TRUE)
  same(bw_formula_array("dry_mass", c(100, 200), 0.1), c(90, 180))
  same(bw_formula_array("dry_mass", numeric(), numeric()), numeric())
  wrong_kind(bw_formula_array("dry_mass", c(1, 2, 3), c(0.1, 0.2)), says = "3, 2")
  fails(bw_formula_array("dry_mass", c(1, 2), c(0.1, 1.2)), class = "document", says = "row 1")
}

tests$schema_and_version <- function() {
  for (name in c("plan", "comparison", "options")) same(is.character(bw_schema(name)[["$schema"]]), TRUE)
  same(grepl("^[0-9]+[.][0-9]+[.][0-9]+$", bw_version()), TRUE)
}

# ---- Months --------------------------------------------------------------------------------------

heading <- list(
  format = "buttonworth-month/1", currency = "USD", from = "2026-03-01", to = as.Date("2026-03-31"),
  buyers = list(smelter = list(terms = list(buys = "concentrate", pay = list(Au = bw_object())), prices = c(Au = "100 USD/g"))))
deliveries <- "id,buyer,arrived,wet_mass (kg),Au (g/t)\nK-1,smelter,2026-03-02,1000,50\nK-2,smelter,2026-03-09,500,40\n"

tests$a_month_in_pieces <- function() {
  month <- bw_month(heading)
  bw_month_take(month, "deliveries", substr(deliveries, 1, 17))
  bw_month_take(month, "deliveries", charToRaw(substring(deliveries, 18)))
  book <- bw_month_book(month)
  same(as.numeric(book$total$proceeds), 7000) # 50 g and 20 g at 100 USD/g
  same(book, bw_book(c(heading, deliveries = deliveries)))
  fails(bw_month_book(month), class = "usage", code = "over", status = 108L)
}

tests$a_month_tells_the_row <- function() {
  month <- bw_month(heading)
  wrong <- sub("2026-03-09", "9 March", deliveries)
  fails(bw_month_take(month, "deliveries", wrong), class = "document", pointer = "/deliveries/1/arrived", says = "row 3")
  close(month)
  closed(bw_month_take(month, "deliveries", deliveries))
}

# ---- What would change the answer, and how sure it is --------------------------------------------

tests$documents_and_plans_are_asked_alike <- function() {
  contested <- changed(
    terms = list(smelter = NULL, a = list(buys = "concentrate", pay = list(Au = c(share = "90 %"))),
                 b = list(buys = "concentrate", pay = list(Au = c(share = "95 %")), charges = list(c(what = "assay", rate = "9 USD/lot")))),
    steps = list(shaker = list(kind = "table", curve = list(Au = c(odds = "60")), cut = c(pull = "5 %"))))
  contested$terms$smelter <- NULL
  contested$routes <- list("to a" = c(sell = "a"), "to b" = c(sell = "b"),
                           tabled = list(step = "shaker", concentrate = c(sell = "a"), tailings = c(keep = TRUE)))
  plan <- bw_plan(contested)
  pair <- list(x = list(of = "/prices/Au", steps = 2), y = list(of = "/lot/wet_mass", steps = 3))
  for (job in list(list(bw_break_even, list(of = "/prices/Au")), list(bw_counter_offers, NULL), list(bw_forgiving_cut, list(points = 3)),
                   list(bw_sensitivity, list(of = I("/prices/Au"))), list(bw_map, pair))) {
    answer <- job[[1]](contested, job[[2]])
    same(answer, job[[1]](plan, job[[2]]))
    same(startsWith(answer$format, "buttonworth-"), TRUE)
  }
  fails(bw_break_even(contested, list(of = "/prices/Ag")), class = "usage", code = "options", pointer = "/of")
}

unsure <- put("prices", list(Au = list(low = "80 USD/g", high = "120 USD/g")))
unsure$lot <- list(wet_mass = "1000 kg", assays = list(Au = c(value = "50 g/t", sd = "2 g/t")))
kept <- list(draws = 4096, keep = TRUE)

tests$draws_make_the_answer <- function() {
  answer <- bw_simulate(unsure, kept)
  gc()
  worth <- bw_draws(answer, "zinc")
  same(length(worth), 4096L)
  # USD/kg, a share, 1000 kg, 90 % paid
  off <- bw_draws(answer, "/prices/Au") * bw_draws(answer, "/lot/assays/Au") * 1000 * 0.9 - worth
  same(all(abs(off) <= worth * 1e-12), TRUE)
  same(abs(mean(worth) - as.numeric(answer$routes$zinc$mean)) < 1e-5, TRUE)
  fails(bw_draws(answer, "/prices/Ag"), class = "usage", code = "pointer", says = "no draws of this")
  wrong_kind(bw_draws(answer, NULL))
  fails(bw_draws(bw_simulate(unsure, list(draws = 4096)), "zinc"), class = "usage", code = "pointer", says = "keep")
}

tests$worth_of_one_more_assay <- function() {
  candidate <- list(of = "/lot/assays/Au", error = "4 %", count = 3, cost = "65 USD")
  answer <- bw_worth(unsure, list(draws = 4096, candidates = list(candidate)))
  same(length(answer$candidates[[1]]$counts), 3L)
  same("best" %in% names(answer) && is.null(answer$best), TRUE) # one buyer: whatever it shows, the way is the same
  candidate$of <- "/lot/assays/Ag"
  fails(bw_worth(unsure, list(candidates = list(candidate))), class = "usage", pointer = "/candidates/0/of")
}

# ---- Memory --------------------------------------------------------------------------------------

resident_bytes <- function() as.numeric(strsplit(readLines("/proc/self/statm"), " ")[[1]][[2]]) * 4096

# Memory that grew while work ran.
growth <- function(times, work) {
  for (index in seq_len(times)) work()
  gc(full = TRUE)
  before <- resident_bytes()
  for (index in seq_len(10 * times)) work()
  gc(full = TRUE)
  resident_bytes() - before
}

tests$failing_calls_leak_nothing <- function() {
  context <- bw_context()
  plan <- bw_plan(plan_list, context)
  gone <- bw_plan(plan_list, context)
  close(gone)
  long <- strrep("y", 1000)
  wrong <- sub("0 %/a", "5 kg", plan_text, fixed = TRUE)
  calls <- expression(
    bw_plan(wrong, context), bw_plan("{", context), bw_plan(list(c("/a", "b")), context), bw_plan(list(c("/a", long), "/c"), context),
    bw_compare(gone), bw_compare(plan, list(x = 1)), bw_with_value(plan, "/x", long), bw_with_value(plan, "/lot/wet_mass", long),
    bw_convert("1 x", "g"), bw_convert_array(1, "x", "g"), bw_schema(long))
  failed <- 0
  fail <- function() for (call in calls) tryCatch(eval(call), buttonworth_error = function(error) failed <<- failed + 1)
  grown <- growth(150, fail)
  same(failed, 18150)
  # Each call has about 1 KB in hand; one in eleven that leaked would show with 1.5 MB. What grows is 0.
  if (grown > 1e6) stop("memory grew by ", grown, " bytes")
}

tests$good_calls_leak_nothing <- function() {
  context <- bw_context()
  grown <- growth(40, function() {
    bw_compare(bw_with_value(bw_plan(plan_text, context), "/discount", "1 %/a"))
    close(bw_plan(plan_rows, context))
  })
  if (grown > 1e6) stop("memory grew by ", grown, " bytes")
}

# ---- The README ----------------------------------------------------------------------------------

tests$the_program_of_the_readme_prints_what_it_says <- function() {
  lines <- readLines(commandArgs(trailingOnly = TRUE)[[1]], encoding = "UTF-8")
  same(length(lines) <= 40, TRUE)
  fences <- grep("^```", lines)
  program <- lines[seq(grep("^```r$", lines)[[1]] + 1, fences[fences > grep("^```r$", lines)[[1]]][[1]] - 1)]
  printed <- utils::capture.output(eval(parse(text = program), new.env(parent = globalenv())))
  expected <- sub(".*  # ", "", grep("(print|cat)\\(.*  # ", program, value = TRUE))
  same(length(expected) > 0, TRUE)
  same(printed, expected)
}

failed <- 0
for (name in names(tests)) {
  fault <- tryCatch({ tests[[name]](); NULL }, error = identity)
  if (is.null(fault)) next
  failed <- failed + 1
  cat(name, ": ", conditionMessage(fault), "\n", sep = "")
}
cat(length(tests) - failed, "passed,", failed, "failed\n")
quit(status = if (failed == 0) 0 else 1)
