%% GATHERED = row_list (ROWS) -- the rows of a plan's spreadsheet form, a cell array of two columns.
function gathered = row_list (table)
  if (! isempty (table) && columns (table) != 2)
    buttonworth.own.refuse ("", sprintf ("a row is a pointer and a value, but these have %d cells", columns (table)));
  endif
  gathered = buttonworth.own.core ("RowList");
  for number = 1:rows (table)
    pointer = table{number, 1};
    value = table{number, 2};
    if (isempty (pointer) && isempty (value)) % as the empty cells of a spreadsheet may come
      pointer = value = "";
    endif
    pointer = buttonworth.own.text (pointer, sprintf ("the pointer of row %d", number));
    gathered.add (pointer, buttonworth.own.cell_text (value, pointer));
  endfor
endfunction
