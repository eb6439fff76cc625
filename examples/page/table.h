/* A table whose columns are as wide as what they hold: names to the left, figures to the right. */
#ifndef PAGE_TABLE_H
#define PAGE_TABLE_H

#include "text.h"

enum { most_columns = 8 };

typedef struct TableRow {
  const char* cell[most_columns];
  int is_sum; /* a rule stands above it */
} TableRow;

/* Begin with table_open and the headings. */
typedef struct Table {
  Pool* pool;
  size_t columns, names; /* the first columns are names */
  TableRow* rows;        /* the first holds the headings; an empty one is not printed */
  size_t count, room;
  int may_go[most_columns]; /* a column that is left out where it holds nothing but zeros */
} Table;

void table_open(Table* table, Pool* pool, size_t columns, size_t names);
/* Adds a row of empty cells, to be filled in. */
TableRow* table_add(Table* table);
/* Prints it; rows that the page cannot hold are told in words. */
void table_print(Table* table);

#endif
