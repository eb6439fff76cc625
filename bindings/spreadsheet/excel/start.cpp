// What Windows calls when it loads the library, and when it lets go of it.
#include <windows.h>

extern "C" {

BOOL WINAPI DllMainCRTStartup(HINSTANCE library, DWORD reason, LPVOID reserved);

/// When the process ends, its other threads are stopped wherever they are, maybe with a lock in hand that a
/// destructor would wait for, and Excel with it: memory goes back to Windows as it is.
BOOL WINAPI buttonworth_start(HINSTANCE library, DWORD reason, LPVOID reserved) {
  if (reason == DLL_PROCESS_DETACH && reserved != nullptr) return TRUE;
  return DllMainCRTStartup(library, reason, reserved);
}
}
