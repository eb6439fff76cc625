/* How far a long job is, where somebody looks. */
#ifndef PAGE_PROGRESS_H
#define PAGE_PROGRESS_H

/* A line on standard error that the next one, or nothing, takes the place of; only where somebody looks. */
void show_progress(const char* what);
void end_progress(void);

#endif
