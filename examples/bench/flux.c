/* Flux and slag of a charge: what to weigh out, where everything goes, what the slag keeps. */
#include <math.h>
#include <string.h>

#include "sheet.h"

static const char* mass_at(Sheet* sheet, const char* pointer) {
  const double mass = ask_number(&sheet->page, "%s", pointer);
  return isnan(mass) ? "" : mass_text(&sheet->page.pool, mass);
}

/* ---- What to weigh out ----------------------------------------------------------------------- */

/* Whether the request states a reagent, or the sum found that it is wanted. */
static int is_stated(Sheet* sheet, const char* reagent) {
  Entry entry = {0};
  while (json_next(json_member(sheet->request, "flux"), &entry))
    if (strcmp(stated_at(sheet, entry.value, "reagent"), reagent) == 0) return 1;
  return 0;
}

static void print_reagents(Sheet* sheet) {
  Page* page = &sheet->page;
  const size_t count = ask_count(page, "/flux");
  if (count == 0) return;
  Table table;
  table_open(&table, &page->pool, 4, 1);
  *table_add(&table) = (TableRow){{"Flux", "g a kg of charge", "price", ""}, 0};
  for (size_t i = 0; i < count; ++i) {
    const char* reagent = ask_text(page, "/flux/%zu/reagent", i);
    const Figure dose = figure_at(page, pool_text(&page->pool, "/flux/%zu/dose", i));
    *table_add(&table) = (TableRow){{reagent, with_figures(&page->pool, in_unit(dose, 1000, "g").value, 3),
                                     quantity_text(&page->pool, ask_text(page, "/flux/%zu/price", i)),
                                     is_stated(sheet, reagent) ? "as stated" : "worked out"},
                                    0};
  }
  print_line("");
  table_print(&table);
}

static void print_charge(Sheet* sheet) {
  Entry entry = {0};
  Names minerals = {0};
  const Json charge = json_member(sheet->request, "charge");
  print_row("Charge, dry", stated_at(sheet, charge, "mass"));
  while (json_next(json_member(charge, "minerals"), &entry)) {
    const char* name = json_text(&sheet->page.pool, entry.name);
    if (strcmp(name, "note") == 0) continue;
    names_add(
        &sheet->page.pool, &minerals,
        pool_text(&sheet->page.pool, "%s" NBSP "%s", name, stated_text(&sheet->page.pool, entry.value)));
  }
  print_row("", names_listed(&sheet->page.pool, &minerals));
}

static void print_totals(Sheet* sheet) {
  Page* page = &sheet->page;
  const char* melts = ask_text(page, "/melts");
  const double cost = ask_number(page, "/cost");
  if (ask_count(page, "/flux") > 0) {
    print_line("");
    print_row("Flux in all", mass_at(sheet, "/flux_mass"));
  }
  if (*melts != '\0') print_row("Melts", melts);
  if (!isnan(cost))
    print_row("Cost of the flux",
              pool_text(&page->pool, "%s" NBSP "%s", with_decimals(&page->pool, cost, 2), page->currency));
}

/* ---- Where everything goes ------------------------------------------------------------------- */

/* "Au 629 g, Ag 92.5 g". */
static const char* parts_text(Sheet* sheet, const char* pointer) {
  Page* page = &sheet->page;
  Names parts = {0};
  const size_t count = ask_count(page, "%s", pointer);
  for (size_t i = 0; i < count; ++i) {
    const char* name = ask_name(page, pointer, i);
    names_add(&page->pool, &parts,
              pool_text(&page->pool, "%s" NBSP "%s", name,
                        mass_at(sheet, pool_text(&page->pool, "%s%s", pointer, ask_step(page, name)))));
  }
  return names_listed(&page->pool, &parts);
}

static void print_gas(Sheet* sheet) {
  Page* page = &sheet->page;
  if (!(ask_number(page, "/gas/mass") > 0)) return;
  print_row("  gas",
            pool_text(&page->pool, "%s: %s", mass_at(sheet, "/gas/mass"), parts_text(sheet, "/gas/of")));
  print_row("", pool_text(&page->pool, "%s" NBSP "L at the heat of the furnace, 1100" NBSP "°C",
                          with_figures(&page->pool, ask_number(page, "/gas/volume"), 3)));
}

static void print_oxygen(Sheet* sheet) {
  Page* page = &sheet->page;
  const double wanted = ask_number(page, "/oxygen/wanted"), given = ask_number(page, "/oxygen/given");
  if (!(wanted > 0) && !(given > 0)) return;
  print_row("  oxygen", pool_text(&page->pool, "wanted %s, given %s%s", mass_at(sheet, "/oxygen/wanted"),
                                  mass_at(sheet, "/oxygen/given"),
                                  wanted > given * (1 + 1e-6) ? ": SHORT, so not all is burnt" : ""));
}

static void print_products(Sheet* sheet) {
  Page* page = &sheet->page;
  const char* metals = parts_text(sheet, "/bar/metal");
  print_heading("Where charge and flux go");
  print_row("  bar",
            *metals != '\0' ? pool_text(&page->pool, "%s: %s", mass_at(sheet, "/bar/mass"), metals) : "none");
  print_row("  slag", mass_at(sheet, "/slag/mass"));
  print_row("  matte", ask_number(page, "/matte") > 0 ? mass_at(sheet, "/matte") : "none");
  print_gas(sheet);
  print_oxygen(sheet);
}

/* ---- The slag -------------------------------------------------------------------------------- */

/* "1, a singulosilicate"; "none" without bases. */
static const char* degree_text(Sheet* sheet) {
  static const struct {
    double degree;
    const char* name;
  } names[] = {{0.5, "a subsilicate"},
               {1, "a singulosilicate"},
               {1.5, "a sesquisilicate"},
               {2, "a bisilicate"},
               {3, "a trisilicate"}};
  Page* page = &sheet->page;
  const double degree = ask_number(page, "/degree");
  if (isnan(degree)) return "none: no bases are left";
  const char* number = with_figures(&page->pool, degree, 3);
  for (size_t i = 0; i < sizeof names / sizeof *names; ++i)
    if (fabs(degree - names[i].degree) < 1e-6) return pool_text(&page->pool, "%s, %s", number, names[i].name);
  return number;
}

static void print_oxides(Sheet* sheet) {
  Page* page = &sheet->page;
  Table table;
  table_open(&table, &page->pool, 2, 1);
  *table_add(&table) = (TableRow){{"Slag", "% by mass"}, 0};
  const size_t count = ask_count(page, "/slag/oxides");
  for (size_t i = 0; i < count; ++i) {
    const char* oxide = ask_name(page, "/slag/oxides", i);
    const double share = ask_number(page, "/slag/oxides%s", ask_step(page, oxide));
    *table_add(&table) = (TableRow){
        {strcmp(oxide, "rest") == 0 ? "what no mineral names" : oxide, with_decimals(&page->pool, share, 1)},
        0};
  }
  print_line("");
  table_print(&table);
  print_line("");
  print_row("Degree of the slag", degree_text(sheet));
  const double acid = ask_number(page, "/acid_degree");
  if (!isnan(acid))
    print_row("", pool_text(&page->pool, "%s with borax and the other acids counted as silica is",
                            with_figures(&page->pool, acid, 3)));
}

/* ---- What the slag keeps --------------------------------------------------------------------- */

static const char* money_shown(Sheet* sheet, const char* pointer) {
  Figure money = figure_at(&sheet->page, pointer);
  money.unit = sheet->page.currency;
  return figure_text(&sheet->page.pool, money);
}

static void print_kept(Sheet* sheet, const char* metal) {
  Page* page = &sheet->page;
  const char* at = pool_text(&page->pool, "/in_slag%s", ask_step(page, metal));
  const char *worth = money_shown(sheet, pool_text(&page->pool, "%s/worth", at)),
             *leaves = money_shown(sheet, pool_text(&page->pool, "%s/retreating_leaves", at));
  Text text = {0};
  text_add(&text, "%s, %s of what the charge holds", shown(sheet, "%s/content", at),
           shown(sheet, "%s/of_charge", at));
  if (*worth != '\0') text_add(&text, "; worth %s", worth);
  if (*leaves != '\0') text_add(&text, "; treating the slag again leaves %s", leaves);
  print_row(pool_text(&page->pool, "%s in the slag", with_capital(&page->pool, analyte_name(metal))),
            text_of(&text));
  text_free(&text);
}

void print_flux(Sheet* sheet) {
  print_title(sheet, "Flux and slag of a charge");
  print_charge(sheet);
  print_reagents(sheet);
  print_totals(sheet);
  print_products(sheet);
  print_oxides(sheet);
  const size_t count = ask_count(&sheet->page, "/in_slag");
  for (size_t i = 0; i < count; ++i) print_kept(sheet, ask_name(&sheet->page, "/in_slag", i));
}
