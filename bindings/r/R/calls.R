# What programs call. man/ describes it, with the C header's own words.

# ---- Contexts and plans --------------------------------------------------------------------------

bw_context <- function() new_handle("buttonworth_context", checked(.Call(R_swig_new_ContextHandle)))

context_handle <- function(context) handle_of(context, "buttonworth_context", "context")

bw_limit <- function(context, name) {
  checked(.Call(R_swig_ContextHandle_get_limit, context_handle(context), text(name, "a limit's name")))
}

bw_set_limit <- function(context, name, value) {
  if (!is.numeric(value) || length(value) != 1 || is.na(value) || value != round(value))
    refuse("", "a limit is a whole number, not ", if (is.numeric(value)) paste(value, collapse = " ") else kind_of(value))
  handle <- context_handle(context)
  checked(.Call(R_swig_ContextHandle_set_limit, handle, text(name, "a limit's name"), value))
  invisible(context)
}

# Whether a plan is given as rows of a pointer and a value.
is_rows <- function(document) is.data.frame(document) || (is.list(document) && is.null(names(document)))

read_plan <- function(handle, document) {
  if (inherits(document, "buttonworth_handle") || !(is.list(document) || is.character(document) || is.raw(document)))
    refuse("", "a plan is text, a list, or rows of a pointer and a value, not ", kind_of(document))
  if (is_rows(document)) return(.Call(R_swig_ContextHandle_plan_of_rows, handle, row_list(document)))
  .Call(R_swig_ContextHandle_plan, handle, document_text(document, "a plan"))
}

bw_plan <- function(document, context = bw_context()) {
  new_handle("buttonworth_plan", checked(read_plan(context_handle(context), document)), context)
}

plan_handle <- function(plan) handle_of(plan, "buttonworth_plan", "plan")

bw_with_value <- function(plan, pointer, value) {
  handle <- plan_handle(plan)
  pointer <- text(pointer, "a pointer")
  context <- unclass(plan)$context
  made <- .Call(R_swig_ContextHandle_plan_with, context_of(plan), handle, pointer, cell_text(value, pointer))
  new_handle("buttonworth_plan", checked(made), context)
}

bw_text <- function(plan) checked(.Call(R_swig_PlanHandle_text, plan_handle(plan), FALSE))

bw_object <- function(...) {
  fields <- list(...)
  if (length(fields) == 0) names(fields) <- character()
  fields
}

# ---- Answers to a plan: one that was read, or its document ---------------------------------------

# The handle of a call's answer.
ask_plan <- function(routine, plan, options) {
  options <- options_text(options)
  if (!inherits(plan, "buttonworth_plan")) {
    plan <- bw_plan(plan)
    on.exit(close(plan))
  }
  checked(.Call(routine, context_of(plan), plan_handle(plan), options))
}

bw_compare_text <- function(plan, options = NULL) finish(ask_plan(R_swig_ContextHandle_compare, plan, options))

bw_compare <- function(plan, options = NULL) decoded(bw_compare_text(plan, options))

bw_worth <- function(plan, options) decoded(finish(ask_plan(R_swig_ContextHandle_worth, plan, options)))

bw_break_even <- function(plan, options) decoded(finish(ask_plan(R_swig_ContextHandle_break_even, plan, options)))

bw_counter_offers <- function(plan, options = NULL) {
  decoded(finish(ask_plan(R_swig_ContextHandle_counter_offers, plan, options)))
}

bw_forgiving_cut <- function(plan, options = NULL) {
  decoded(finish(ask_plan(R_swig_ContextHandle_forgiving_cut, plan, options)))
}

bw_sensitivity <- function(plan, options = NULL) {
  decoded(finish(ask_plan(R_swig_ContextHandle_sensitivity, plan, options)))
}

bw_map <- function(plan, options) decoded(finish(ask_plan(R_swig_ContextHandle_map, plan, options)))

bw_simulate <- function(plan, options = NULL) {
  answer <- ask_plan(R_swig_ContextHandle_simulate, plan, options)
  text <- checked(.Call(R_swig_AnswerHandle_text, answer, FALSE))
  structure(decoded(text), draws = answer)
}

bw_draws <- function(simulation, name) {
  answer <- attr(simulation, "draws", exact = TRUE)
  if (is.null(answer)) refuse("", "a simulation is wanted here, not ", kind_of(simulation))
  name <- text(name, "a route or a pointer")
  checked(.Call(R_swig_ContextHandle_draws, .Call(R_swig_new_ContextHandle), answer, name, FALSE))
}

# ---- Requests of their own -----------------------------------------------------------------------

ask <- function(routine, request, what) {
  request <- document_text(request, what)
  decoded(finish(.Call(routine, .Call(R_swig_new_ContextHandle), request)))
}

bw_settle <- function(delivery) ask(R_swig_ContextHandle_settle, delivery, "a delivery")

bw_reconcile <- function(delivery_and_return) {
  ask(R_swig_ContextHandle_reconcile, delivery_and_return, "a delivery and its return")
}

bw_book <- function(month) ask(R_swig_ContextHandle_book, month, "a month")

bw_dispute <- function(request) ask(R_swig_ContextHandle_dispute, request, "a dispute")

bw_metal_call <- function(request) ask(R_swig_ContextHandle_metal_call, request, "streams and stages")

bw_bench <- function(request) ask(R_swig_ContextHandle_bench, request, "a request to the bench")

bw_allocate <- function(request) ask(R_swig_ContextHandle_allocate, request, "lots to allocate")

bw_month <- function(heading, context = bw_context()) {
  made <- .Call(R_swig_ContextHandle_month, context_handle(context), document_text(heading, "a month"))
  new_handle("buttonworth_month", checked(made), context)
}

month_handle <- function(month) handle_of(month, "buttonworth_month", "month")

bw_month_take <- function(month, table, csv) {
  handle <- month_handle(month)
  table <- text(table, "a table's name")
  checked(.Call(R_swig_ContextHandle_month_take, context_of(month), handle, table, text(csv, "a table")))
  invisible(month)
}

bw_month_book <- function(month) {
  handle <- month_handle(month)
  decoded(finish(.Call(R_swig_ContextHandle_month_close, context_of(month), handle)))
}

# ---- Plain numbers and units ---------------------------------------------------------------------

numbers <- function(values, what) {
  if (!is.numeric(values) || is.object(values)) refuse("", what, " is a number, not ", kind_of(values))
  as.double(values)
}

bw_formula <- function(name, ...) {
  arguments <- list(...)
  for (index in seq_along(arguments)) {
    what <- paste("argument", index)
    if (length(numbers(arguments[[index]], what)) != 1)
      refuse("", what, " is a single number; for whole columns there is bw_formula_array")
  }
  values <- as.double(unlist(arguments))
  checked(.Call(R_swig_ContextHandle_formula, .Call(R_swig_new_ContextHandle), text(name, "a formula's name"), values))
}

bw_formula_array <- function(name, ...) {
  columns <- list(...)
  for (index in seq_along(columns)) columns[[index]] <- numbers(columns[[index]], paste("argument", index))
  sizes <- setdiff(lengths(columns), 1L)
  if (length(sizes) > 1) refuse("", "the columns are not of one length: ", paste(lengths(columns), collapse = ", "))
  rows <- if (length(sizes) == 1) sizes else min(1L, length(columns))
  values <- as.double(unlist(lapply(columns, rep_len, rows)))
  name <- text(name, "a formula's name")
  checked(.Call(R_swig_ContextHandle_formula_array, .Call(R_swig_new_ContextHandle), name, values, rows))
}

bw_formulas <- function() decoded(finish(.Call(R_swig_ContextHandle_formulas, .Call(R_swig_new_ContextHandle))))

bw_convert <- function(quantity, to, factors = NULL) {
  request <- list(quantity = text(quantity, "a quantity"), to = text(to, "a unit"))
  if (!is.null(factors)) request$factors <- as.list(factors)
  ask(R_swig_ContextHandle_convert, request, "a quantity")
}

bw_convert_array <- function(values, from, to) {
  row <- numbers(values, "what is converted")
  from <- text(from, "a unit")
  to <- text(to, "a unit")
  made <- .Call(R_swig_ContextHandle_convert_array, .Call(R_swig_new_ContextHandle), row, from, to, length(row))
  values[] <- checked(made)
  values
}

bw_schema <- function(name) {
  name <- text(name, "a schema's name")
  decoded(finish(.Call(R_swig_ContextHandle_schema, .Call(R_swig_new_ContextHandle), name)))
}

bw_version <- function() .Call(R_swig_version)
