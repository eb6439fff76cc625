# Calls of the compiled part, the errors they raise, and handles.

# What a failure is in R: a condition, an error of its class before an error of the package.
condition_of <- function(failure) {
  errors <- parse_json(failure[[2]])
  first <- errors[[1]]
  class_of_error <- paste0("buttonworth_", gsub(" ", "_", first$class), "_error")
  structure(
    list(message = failure[[1]], call = NULL, class = first$class, code = first$code, status = first$status,
         pointer = first$pointer, text = failure[[1]], errors = errors),
    class = c(class_of_error, "buttonworth_error", "error", "condition"))
}

# What a routine of the compiled part returned; its failure is raised.
checked <- function(result) {
  if (inherits(result, "buttonworth_failure")) stop(condition_of(result))
  result
}

# A mistake of the program that calls.
refuse <- function(pointer, ...) checked(.Call(R_swig_refuse, pointer, paste0(...)))

kind_of <- function(value) {
  if (is.null(value)) return("NULL")
  if (is.atomic(value) && length(value) == 1 && is.na(value)) return(if (is.nan(value)) "NaN" else "NA")
  if (is.object(value) || !is.atomic(value)) return(paste("a", class(value)[[1]]))
  paste(c("a", if (length(value) != 1) "vector of", class(value)[[1]]), collapse = " ")
}

# One piece of text.
text <- function(value, what) {
  if (is.raw(value) && !is.object(value)) return(value)
  if (!is.character(value) || length(value) != 1 || is.na(value))
    refuse("", what, " is text, not ", kind_of(value))
  enc2utf8(value)
}

new_handle <- function(class, handle, context = NULL) {
  structure(list(handle = handle, context = context), class = c(class, "buttonworth_handle"))
}

# The handle of an object of this class.
handle_of <- function(object, class, what) {
  if (!inherits(object, class)) refuse("", "a ", what, " is wanted here, not ", kind_of(object))
  unclass(object)$handle
}

# The handle of the context that an object was made with.
context_of <- function(object) unclass(unclass(object)$context)$handle

closers <- function() list(
  buttonworth_context = R_swig_ContextHandle_close, buttonworth_plan = R_swig_PlanHandle_close,
  buttonworth_month = R_swig_MonthHandle_close)

close.buttonworth_handle <- function(con, ...) {
  checked(.Call(closers()[[class(con)[[1]]]], unclass(con)$handle))
  invisible(NULL)
}

print.buttonworth_handle <- function(x, ...) {
  cat("<", class(x)[[1]], ">\n", sep = "")
  invisible(x)
}

# The text of an answer that is needed no longer. R's strings end at 2^31 bytes, far beyond any answer.
finish <- function(answer) {
  answer <- checked(answer)
  text <- checked(.Call(R_swig_AnswerHandle_text, answer, FALSE))
  .Call(R_swig_AnswerHandle_close, answer)
  text
}

# The answer as lists: names in their order, JSON's null as NULL, decimals as the text they are.
decoded <- function(text) parse_json(text)
