# Documents of R's own kinds, as the library takes them: JSON text, or rows of a pointer and a value.
#
# A list with names, or a vector with names, is an object in its order; one without is a list. A vector of
# length 1 is a single value, unless it is wrapped in I() as elsewhere in R. NULL is JSON's null.

deepest <- 100L # of lists, by the stack of R; text may be as deep as the context allows

part_of_pointer <- function(name) paste0("/", gsub("/", "~1", gsub("~", "~0", name, fixed = TRUE), fixed = TRUE))

# Texts as JSON has them.
quoted <- function(texts, pointer) {
  texts <- enc2utf8(texts)
  if (!all(validUTF8(texts))) refuse(pointer, "this text is not UTF-8")
  texts <- gsub("\"", "\\\"", gsub("\\", "\\\\", texts, fixed = TRUE), fixed = TRUE)
  for (control in unique(unlist(regmatches(texts, gregexpr("[\001-\037]", texts)))))
    texts <- gsub(control, sprintf("\\u%04x", utf8ToInt(control)), texts, fixed = TRUE)
  paste0("\"", texts, "\"")
}

# The shortest text that is this number again.
number_text <- function(number) {
  if (is.integer(number)) return(as.character(number))
  short <- sprintf("%.15g", number)
  gsub(",", ".", if (as.numeric(short) == number) short else sprintf("%.17g", number), fixed = TRUE)
}

encode_single <- function(value, pointer) {
  if (is.character(value) && !is.na(value)) return(quoted(value, pointer))
  if (is.na(value) || (is.numeric(value) && !is.finite(value)))
    refuse(pointer, format(value), " stands here; wanted is a number, or text")
  if (is.logical(value)) return(if (value) "true" else "false")
  number_text(value)
}

encode_names <- function(names, pointer) {
  missing <- which(is.na(names) | names == "")
  if (length(missing) > 0 && length(names) > 1)
    refuse(pointer, "all entries of an object have names, but entry ", missing[[1]], " has none")
  quoted(names, pointer)
}

encode_entries <- function(entries, parts, pointer, depth) {
  if (depth == deepest) refuse("", "the document is nested too deeply")
  texts <- character(length(entries))
  # A loop: a function that is applied would take the stack of R before the deepest is reached.
  for (index in seq_along(entries))
    texts[[index]] <- encode_value(entries[[index]], paste0(pointer, parts[[index]]), depth + 1L)
  texts
}

encode_object <- function(object, pointer, depth) {
  names <- encode_names(names(object), pointer)
  texts <- encode_entries(object, part_of_pointer(names(object)), pointer, depth)
  paste0("{", paste(names, texts, sep = ":", recycle0 = TRUE, collapse = ","), "}")
}

encode_list <- function(entries, pointer, depth) {
  texts <- encode_entries(entries, paste0("/", seq_along(entries) - 1L), pointer, depth)
  paste0("[", paste(texts, collapse = ","), "]")
}

# A table is a list of its rows.
rows_of <- function(table) lapply(seq_len(nrow(table)), function(row) as.list(table[row, , drop = FALSE]))

encode_value <- function(value, pointer, depth) {
  force(pointer) # or a promise would wait for a promise at every level
  if (is.null(value)) return("null")
  if (is.factor(value) || inherits(value, "Date")) value <- as.character(value)
  if (is.data.frame(value)) value <- rows_of(value)
  plain <- is.list(value) || is.character(value) || is.numeric(value) || is.logical(value)
  if (!plain || inherits(value, c("POSIXt", "buttonworth_handle", "difftime")))
    refuse(pointer, kind_of(value), " has no place in a document")
  as_list <- inherits(value, "AsIs")
  value <- unclass(value)
  if (!is.null(names(value))) return(encode_object(value, pointer, depth))
  if (is.list(value) || length(value) != 1 || as_list) return(encode_list(value, pointer, depth))
  encode_single(value, pointer)
}

encoded <- function(value) encode_value(value, "", 0L)

# Text as it stands, of several lines if it was read so; anything else as JSON.
document_text <- function(document, what) {
  if (is.character(document) && is.null(names(document)) && length(document) > 0 && !anyNA(document))
    return(paste(enc2utf8(document), collapse = "\n"))
  if (is.raw(document)) return(document)
  if (!is.list(document) && is.null(names(document)))
    refuse("", what, " is text or a list, not ", kind_of(document))
  encoded(document)
}

options_text <- function(options) if (is.null(options)) "" else document_text(options, "the options")

# One cell of a plan's spreadsheet form.
cell_text <- function(value, pointer) {
  if (is.character(value) && length(value) == 1 && !is.na(value) && is.null(names(value))) return(enc2utf8(value))
  encode_value(value, pointer, 0L)
}

no_cell <- function(value) is.null(value) || (is.atomic(value) && length(value) == 1 && (is.na(value) || value == ""))

add_row <- function(gathered, row, number) {
  if (length(row) != 2 || !(is.list(row) || is.character(row)))
    refuse("", "row ", number, " is a pointer and a value, not ",
           if (is.list(row) || is.character(row)) paste(length(row), "cells") else kind_of(row))
  empty <- no_cell(row[[1]]) && no_cell(row[[2]])
  pointer <- if (empty) "" else text(row[[1]], paste("the pointer of row", number))
  checked(.Call(R_swig_RowList_add, gathered, pointer, if (empty) "" else cell_text(row[[2]], pointer)))
}

# Rows: a table of two columns, or a list of pairs.
row_list <- function(rows) {
  if (is.data.frame(rows)) rows <- lapply(rows_of(rows), function(row) lapply(unname(row), plain_cell))
  gathered <- .Call(R_swig_new_RowList)
  for (number in seq_along(rows)) add_row(gathered, rows[[number]], number)
  gathered
}

plain_cell <- function(cell) if (is.list(cell)) cell[[1]] else if (is.factor(cell)) as.character(cell) else cell
