/* The page of a schedule: what to do, what it leaves, what holds it back. */
#ifndef TOGETHER_SCHEDULE_H
#define TOGETHER_SCHEDULE_H

#include "../page/page.h"

void print_schedule(Page* page);

/* ---- The parts of the page ------------------------------------------------------------------ */

void print_shipments(Page* page);
void print_left(Page* page);
void print_limits(Page* page);
void print_steps(Page* page);
void print_cash(Page* page);
void print_others(Page* page);
void print_dangers(Page* page);

/* A day as the month counts them: "11", "11.5". */
const char* day_of(Page* page, const char* pointer);
/* The lots of a shipment, "WM-jig-21, half of WM-jig-22". */
const char* lots_of(Page* page, size_t shipment);

#endif
