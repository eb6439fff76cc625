Option Explicit

Private Declare PtrSafe Function LoadLibraryW Lib "kernel32" (ByVal path As LongPtr) As LongPtr
Private Declare PtrSafe Function FreeLibrary Lib "kernel32" (ByVal library As LongPtr) As Long
Private Declare PtrSafe Function GetModuleHandleW Lib "kernel32" (ByVal name As LongPtr) As LongPtr

' For programs: texts go in as StrPtr gives them, answers come out as Variants, a status of 0 is a success. Call
' BwLoaded first, or ButtonworthAnswer, which does all of it.
Public Declare PtrSafe Function buttonworth_open Lib "buttonworth.dll" () As LongPtr
Public Declare PtrSafe Function buttonworth_close Lib "buttonworth.dll" (ByVal session As LongPtr) As Long
Public Declare PtrSafe Function buttonworth_ask Lib "buttonworth.dll" (ByVal session As LongPtr, ByVal job As LongPtr, _
    ByVal request As LongPtr, ByVal options As LongPtr, ByRef answer As Variant) As Long
Public Declare PtrSafe Function buttonworth_formula Lib "buttonworth.dll" (ByVal session As LongPtr, _
    ByVal name As LongPtr, ByRef arguments As Variant, ByRef result As Double) As Long
Public Declare PtrSafe Function buttonworth_last_error Lib "buttonworth.dll" (ByVal session As LongPtr, _
    ByRef text As Variant, ByRef list As Variant) As Long
Public Declare PtrSafe Sub buttonworth_version_and_path Lib "buttonworth.dll" (ByRef version As Variant, _
    ByRef path As Variant)
Private Declare PtrSafe Sub buttonworth_cells_evaluate Lib "buttonworth.dll" (ByVal name As LongPtr, _
    ByRef arguments As Variant, ByRef result As Variant)

Private BwLibrary As LongPtr
Private BwTrouble As String

' Whether buttonworth.dll is loaded, from beside this workbook or add-in and from nowhere else.
Public Function BwLoaded() As Boolean
    Dim path As String
    If BwLibrary <> 0 Then BwLoaded = True: Exit Function
#If Win64 And Not Mac Then
    If ThisWorkbook.Path = "" Then BwTrouble = "save this workbook first, beside buttonworth.dll": Exit Function
    path = ThisWorkbook.Path & "\buttonworth.dll"
    BwLibrary = LoadLibraryW(StrPtr(path))
    If BwLibrary = 0 Then
        BwTrouble = BwReason(Err.LastDllError, path)
    ElseIf GetModuleHandleW(StrPtr("buttonworth.dll")) <> BwLibrary Then
        FreeLibrary BwLibrary
        BwLibrary = 0
        BwTrouble = "another buttonworth.dll is loaded already: close the workbooks that use it and start Excel anew"
    End If
#Else
    BwTrouble = "this is not the 64-bit Excel for Windows, which buttonworth.dll wants"
#End If
    BwLoaded = BwLibrary <> 0
    If BwLoaded Then BwTrouble = ""
End Function

Private Function BwReason(ByVal number As Long, ByVal path As String) As String
    Select Case number
    Case 2, 3, 53, 123, 126, 161
        BwReason = "there is no file " & path & ": copy buttonworth.dll there, a folder of this computer"
    Case 5, 577, 1260, 4551
        BwReason = "Windows does not let Excel load " & path & " (error " & number & "): ask who looks after this computer"
    Case Else
        BwReason = "Windows could not load " & path & " (error " & number & "): copy buttonworth.dll there again"
    End Select
End Function

' Empty where all is well; otherwise why the functions show #NAME? or #NULL!.
Public Function BW_TROUBLE() As String
Attribute BW_TROUBLE.VB_Description = "Why all functions of Buttonworth show #NAME? or #NULL!: empty where all is well."
Attribute BW_TROUBLE.VB_ProcData.VB_Invoke_Func = " \n14"
    Application.Volatile
    BwLoaded
    BW_TROUBLE = BwTrouble
End Function

' What a cell shows.
Private Function BwShown(ByVal name As String, ByRef arguments As Variant) As Variant
    Dim shown As Variant
    On Error GoTo failed
    If Not BwLoaded() Then BwShown = CVErr(xlErrName): Exit Function
    buttonworth_cells_evaluate StrPtr(name), arguments, shown
    BwShown = shown
    Exit Function
failed:
    BwTrouble = Err.Description
    BwShown = CVErr(xlErrNull)
End Function

' An argument's value: a range's values all at once, of whole columns those down to the last row in use.
Private Function BwValues(Optional ByVal argument As Variant) As Variant
    Dim area As Range
    If IsMissing(argument) Then BwValues = CVErr(448): Exit Function
    If Not IsObject(argument) Then BwValues = argument: Exit Function
    BwValues = CVErr(xlErrValue)
    If Not TypeOf argument Is Range Then Exit Function
    Set area = argument
    If area.Areas.Count > 1 Then Exit Function
    If area.Rows.Count = area.Worksheet.Rows.Count Then
        With area.Worksheet.UsedRange
            Set area = area.Resize(.Row + .Rows.Count - 1)
        End With
    End If
    BwValues = area.Value2
End Function

' For programs: the answer, JSON, to a request, JSON, by one of the C interface's calls: "compare", "settle", "simulate",
' "bench" and the others. A mistake is raised as an error with the library's own words.
Public Function ButtonworthAnswer(ByVal job As String, ByVal request As String, Optional ByVal options As String) As String
    Dim session As LongPtr, status As Long, answer As Variant, text As Variant, list As Variant
    If Not BwLoaded() Then Err.Raise vbObjectError + 513, "Buttonworth", BwTrouble
    session = buttonworth_open()
    status = buttonworth_ask(session, StrPtr(job), StrPtr(request), StrPtr(options), answer)
    If status <> 0 Then buttonworth_last_error session, text, list
    buttonworth_close session
    If status <> 0 Then Err.Raise vbObjectError + 513 + status, "Buttonworth", text
    ButtonworthAnswer = answer
End Function

' Help in the function wizard. Excel does not take it for a hidden workbook, as an add-in is, but keeps what it was told
' before the workbook was saved as one.
Public Sub Auto_Open()
    Dim saved As Boolean
    saved = ThisWorkbook.Saved
    ButtonworthHelp
    ThisWorkbook.Saved = saved
End Sub

Private Sub BwTell(ByVal name As String, ByVal what As String, ByVal arguments As Variant)
    On Error Resume Next
    If UBound(arguments) < 0 Then
        Application.MacroOptions Macro:=name, Description:=what, Category:="Buttonworth"
    Else
        Application.MacroOptions Macro:=name, Description:=what, Category:="Buttonworth", ArgumentDescriptions:=arguments
    End If
End Sub
